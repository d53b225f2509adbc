import { Component, type ReactNode } from 'react'

interface Given {
  children: ReactNode
  /** Another address is tried anew. */
  at: string
  kept: string
}

/** Where a page cannot be shown, such as one whose file is of an older version and gone, or out of reach: it opens anew. */
export class Boundary extends Component<Given, { failed: boolean; at: string }> {
  override state = { failed: false, at: this.props.at }
  static getDerivedStateFromError(): { failed: boolean } {
    return { failed: true }
  }
  static getDerivedStateFromProps({ at }: Given, state: { at: string }): { failed: boolean; at: string } | null {
    return at === state.at ? null : { failed: false, at }
  }
  override render(): ReactNode {
    if (!this.state.failed) return this.props.children
    return (
      <div className="note alarmed" role="alert">
        <p>This page could not be opened. {this.props.kept}</p>
        <button className="main" onClick={() => location.reload()}>
          Open it anew
        </button>
      </div>
    )
  }
}

/** Of the on-site pages. */
export const KEPT_ON_PHONE = 'What stands as kept on this phone is kept.'
