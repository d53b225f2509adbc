/** A button that says what follows before it does it, and gives the focus back where it is left. */
import { type ReactNode, useEffect, useRef, useState } from 'react'

export function AskOnce({
  open,
  name,
  confirm,
  leave,
  onDo,
  children,
}: {
  open: string
  /** Says of what, for who hears the button without its place. */
  name: string
  confirm: string
  leave: string
  onDo: () => void
  children: ReactNode
}): ReactNode {
  const [asking, setAsking] = useState(false)
  const [left, setLeft] = useState(false)
  const button = useRef<HTMLButtonElement>(null)
  useEffect(() => {
    if (asking || left) button.current?.focus()
  }, [asking, left])
  const close = (): void => {
    setAsking(false)
    setLeft(true)
  }
  if (!asking)
    return (
      <button ref={button} className="small" aria-label={`${open} ${name}`} onClick={() => setAsking(true)}>
        {open}
      </button>
    )
  return (
    <div className="note" role="group" aria-label={`${open} ${name}`}>
      <p>{children}</p>
      <div className="row">
        <button
          ref={button}
          onClick={() => {
            close()
            onDo()
          }}
        >
          {confirm}
        </button>
        <button onClick={close}>{leave}</button>
      </div>
    </div>
  )
}
