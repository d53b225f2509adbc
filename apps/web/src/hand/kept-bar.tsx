import type { ReactNode } from 'react'
import { sayClock } from '../client/clock.js'
import type { Keeping } from './kept.js'
import { MissingHere } from './missing.js'
import { NotTakenIn } from './refused.js'

interface Bar {
  keeping: Keeping
  home?: boolean
  /** On a shared tablet: under whose name everything stands just now. */
  worker?: string
  onLeave?: () => void
}

function sayKept({ waiting, online, ofOthers, refused }: Keeping): string {
  const kept =
    waiting === 0
      ? refused.length === 0
        ? 'All entries are saved.'
        : `Nothing waits to be sent; ${refused.length} ${refused.length === 1 ? 'was' : 'were'} not taken in, see below.`
      : `${waiting} ${waiting === 1 ? 'entry is' : 'entries are'} only on this phone${online ? '; sending' : ''}.`
  const others = ofOthers > 0 ? ` ${ofOthers} of them wait until whoever typed them signs in, or says their code.` : ''
  return `${kept}${online ? '' : ' No network.'}${others}`
}

/** Always on top: how many entries are only on this phone; below it what was refused, and what may be lost. */
export function Kept({ keeping, home = true, worker, onLeave }: Bar): ReactNode {
  const { notKept } = keeping
  const clock = sayClock()
  return (
    <>
      <div className="kept">
        <span role="status">{sayKept(keeping)}</span> {home ? <a href="#/">Here, today</a> : null}
        {worker ? (
          <p className="worker">
            <strong>{worker}</strong> works here.
          </p>
        ) : null}
        {worker ? <button onClick={onLeave}>Somebody else, or done</button> : null}
      </div>
      {notKept ? (
        <p className="note alarmed" role="alert">
          {notKept}
        </p>
      ) : null}
      {clock ? <p className="note">{clock}</p> : null}
      <MissingHere keeping={keeping} />
      <NotTakenIn keeping={keeping} />
    </>
  )
}
