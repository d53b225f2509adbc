import { Component, type ReactNode } from 'react'

/** Where a page cannot be shown, such as one whose file is of an older version and gone: what was kept is kept, and it opens anew. */
export class Boundary extends Component<{ children: ReactNode }, { failed: boolean }> {
  override state = { failed: false }
  static getDerivedStateFromError(): { failed: boolean } {
    return { failed: true }
  }
  override render(): ReactNode {
    if (!this.state.failed) return this.props.children
    return (
      <div className="note alarmed" role="alert">
        <p>This page could not be opened. What stands as kept on this phone is kept.</p>
        <button className="main" onClick={() => location.reload()}>
          Open it anew
        </button>
      </div>
    )
  }
}
