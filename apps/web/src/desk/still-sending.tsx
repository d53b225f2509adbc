/** What was sent: that it is still being worked on, and that it was not taken in where its own page was left meanwhile. */
import { type ReactNode, useEffect, useState } from 'react'
import { heard } from '../client/heard.js'
import { waitedMs } from '../client/sent-once.js'

const LONG_MS = 3000

export function StillSending(): ReactNode {
  const [long, setLong] = useState(false)
  const [left, setLeft] = useState(false)
  useEffect(() => {
    const timer = setInterval(() => setLong((waitedMs() ?? 0) > LONG_MS), 500)
    const hold = (event: BeforeUnloadEvent): void => (waitedMs() === null ? undefined : event.preventDefault())
    const hear = (): void => setLeft(true)
    addEventListener('beforeunload', hold)
    heard.addEventListener('left', hear)
    return () => {
      clearInterval(timer)
      removeEventListener('beforeunload', hold)
      heard.removeEventListener('left', hear)
    }
  }, [])
  return (
    <div role="status" className="still-sending no-print">
      {long ? <p className="note">The server is still working on what you sent …</p> : null}
      {left ? (
        <div className="note alarmed">
          <p>
            What you sent from a page that you have left since was not taken in, or its answer was lost. Look there whether it stands, and
            send it again where it does not.
          </p>
          <button onClick={() => setLeft(false)}>I have read it</button>
        </div>
      ) : null}
    </div>
  )
}
