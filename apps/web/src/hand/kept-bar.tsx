import type { ReactNode } from 'react'
import type { Keeping } from './kept.js'
import { MissingHere } from './missing.js'
import { forgetRefused } from './outbox.js'

interface Bar {
  keeping: Keeping
  home?: boolean
  /** On a shared tablet: under whose name everything stands just now. */
  worker?: string
  onLeave?: () => void
}

function sayKept({ waiting, online, ofOthers }: Keeping): string {
  const kept =
    waiting === 0
      ? 'All entries are saved.'
      : `${waiting} ${waiting === 1 ? 'entry is' : 'entries are'} only on this phone${online ? '; sending' : ''}.`
  const others = ofOthers > 0 ? ` ${ofOthers} of them wait until whoever typed them signs in, or says their code.` : ''
  return `${kept}${online ? '' : ' No network.'}${others}`
}

/** Always on top: how many entries are only on this phone; below it what was refused, and what may be lost. */
export function Kept({ keeping, home = true, worker, onLeave }: Bar): ReactNode {
  const { refused, notKept } = keeping
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
      <MissingHere keeping={keeping} />
      {refused.map(({ id, refused: reason, keptAt }) => (
        <div key={id} className="note alarmed" role="alert">
          <p>
            Your entry of {keptAt.slice(11, 16)} (UTC) was not taken in: {reason} It is still on this phone.
          </p>
          <button onClick={() => void forgetRefused(keeping.store, id).then(keeping.again)}>
            I have seen this; take it off this phone
          </button>
        </div>
      ))}
    </>
  )
}
