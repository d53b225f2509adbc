/** Says that what was sent is still being worked on, and holds back who would close the page over it. */
import { type ReactNode, useEffect, useState } from 'react'
import { waitedMs } from '../client/sent-once.js'

const LONG_MS = 3000

export function StillSending(): ReactNode {
  const [long, setLong] = useState(false)
  useEffect(() => {
    const timer = setInterval(() => setLong((waitedMs() ?? 0) > LONG_MS), 500)
    const hold = (event: BeforeUnloadEvent): void => (waitedMs() === null ? undefined : event.preventDefault())
    addEventListener('beforeunload', hold)
    return () => {
      clearInterval(timer)
      removeEventListener('beforeunload', hold)
    }
  }, [])
  return (
    <div role="status" className="still-sending no-print">
      {long ? <p className="note">The server is still working on what you sent …</p> : null}
    </div>
  )
}
