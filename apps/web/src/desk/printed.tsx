/** On paper alone: whose list this is, and of when. */
import { type ReactNode, useEffect, useState } from 'react'
import { flushSync } from 'react-dom'
import { serverNow } from '../client/clock.js'
import { sayInstant } from '../ui/format.js'
import { useMe } from './me.js'

export function Printed(): ReactNode {
  const me = useMe()
  const [at, setAt] = useState(serverNow)
  useEffect(() => {
    const now = (): void => flushSync(() => setAt(serverNow()))
    window.addEventListener('beforeprint', now)
    return () => window.removeEventListener('beforeprint', now)
  }, [])
  return (
    <p className="print-only small">
      {me.organisation.name}, printed by {me.person.name} on {sayInstant(at, me.warehouses[0]?.zone ?? 'UTC')}.
    </p>
  )
}
