/** Whether a machine stands still, on its page: since when, that it works again, and a stoppage that was told to the desk. */
import { type ReactNode, useState } from 'react'
import { Link } from 'react-router'
import type { Answer } from '../client/api.js'
import { sayNumber } from '../ui/format.js'
import { Said } from '../ui/parts.js'
import { useToday } from './me.js'
import { WorksAgain } from './stoppage-close.js'
import { WriteDown } from './stoppage-report.js'
import { sayChoice, sayMoment } from './stoppage-words.js'

type Detail = Answer<'getMachine'>
type Told = Answer<'reportStoppage'>

export function Stands({ machine }: { machine: Detail }): ReactNode {
  const today = useToday(machine.warehouse?.id)
  const [said, setSaid] = useState<ReactNode>(null)
  const [asking, setAsking] = useState<'now' | 'over' | null>(null)
  const open = machine.openStoppage
  const zone = machine.zone ?? 'UTC'
  const told = (stoppage: Told, joined: boolean): void => {
    setAsking(null)
    setSaid(<WhatWasTold stoppage={stoppage} joined={joined} since={sayMoment(stoppage.failedAt, zone, today)} />)
  }
  const ask = (what: 'now' | 'over'): void => {
    setSaid(null)
    setAsking(what)
  }
  return (
    <>
      {said ? <Said>{said}</Said> : null}
      {open ? (
        <>
          <p className="note alarmed">
            <Link to={`/stoppages/${open.id}`}>Stands still since {sayMoment(open.failedAt, zone, today)}</Link>:{' '}
            {sayChoice(open.failureMode)}.
          </p>
          <WorksAgain
            key={open.id}
            stoppageId={open.id}
            labelCode={machine.labelCode}
            onDone={() =>
              setSaid(
                <>
                  Written down: it works again. <Link to={`/stoppages/${open.id}`}>The stoppage and its hours</Link>
                </>,
              )
            }
          />
        </>
      ) : null}
      {asking ? (
        <div style={{ marginBottom: 16 }}>
          <WriteDown key={asking} machine={machine} over={asking === 'over'} onTold={told} onLeave={() => setAsking(null)} />
        </div>
      ) : machine.warehouse ? (
        <p className="row no-print">
          {open ? null : (
            <button className="small" onClick={() => ask('now')}>
              It stands still…
            </button>
          )}
          <button className="small" onClick={() => ask('over')}>
            It stood still, and is over…
          </button>
        </p>
      ) : null}
    </>
  )
}

function WhatWasTold({ stoppage, joined, since }: { stoppage: Told; joined: boolean; since: string }): ReactNode {
  const to = `/stoppages/${stoppage.id}`
  if (joined)
    return (
      <>
        It stood still already, since {since}: a machine stands still once, so what you wrote was added to the note of{' '}
        <Link to={to}>that stoppage</Link>. If it failed earlier, put its moment right there.
      </>
    )
  return (
    <>
      Written down: <Link to={to}>the stoppage since {since}</Link>
      {stoppage.open ? ', still open.' : `, ${sayNumber(stoppage.durations.totalHours, 1)} hours.`}
    </>
  )
}
