import type { ReactNode } from 'react'
import type { Keeping } from './kept.js'
import { forgetRefused } from './outbox.js'

/** Always on top: how many entries are only on this phone, and what was refused. */
export function Kept({ keeping, home = true }: { keeping: Keeping; home?: boolean }): ReactNode {
  const { waiting, refused, online, ofOthers, notKept } = keeping
  const words =
    waiting === 0
      ? 'All entries are saved.'
      : `${waiting} ${waiting === 1 ? 'entry is' : 'entries are'} only on this phone${online ? '; sending' : ''}.`
  return (
    <div className="kept">
      <span role="status">
        {words} {online ? '' : 'No network.'} {ofOthers > 0 ? `${ofOthers} of them wait for the one who typed them to sign in.` : ''}
      </span>{' '}
      {home ? <a href="#/">Here, today</a> : null}
      {notKept ? (
        <p className="note alarmed" role="alert">
          {notKept}
        </p>
      ) : null}
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
    </div>
  )
}
