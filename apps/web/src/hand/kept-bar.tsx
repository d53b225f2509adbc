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

const HOW_IT_GOES_ON = {
  sending: '; sending.',
  unreachable: '; not sent yet, tried again every 20 seconds.',
  signed_out: '. Your sign-in has ended: sign in again, then they are sent.',
  link_ended: '. This link opens nothing any more: ask for a new one. What you typed stays here.',
}

function sayKept({ waiting, online, stopped, ofOthers, refused }: Keeping, home: boolean): string {
  const goesOn = stopped === 'signed_out' && !home ? 'link_ended' : (stopped ?? 'sending')
  const kept =
    waiting === 0
      ? refused.length === 0
        ? 'All entries are saved.'
        : `Nothing waits to be sent; ${refused.length} ${refused.length === 1 ? 'was' : 'were'} not taken in, see below.`
      : `${waiting} ${waiting === 1 ? 'entry is' : 'entries are'} only on this phone${online ? HOW_IT_GOES_ON[goesOn] : '.'}`
  const others = ofOthers > 0 ? ` ${ofOthers} of them wait until whoever typed them signs in, or says their code.` : ''
  return `${kept}${online ? '' : ' No network.'}${others}`
}

/** Always on top: how many entries are only on this phone; below it what was refused, and what may be lost. */
export function Kept({ keeping, home = true, worker, onLeave }: Bar): ReactNode {
  const { notKept } = keeping
  const clock = sayClock()
  // A tablet's people and a link's have no sign-in to renew.
  const signedOut = keeping.waiting > 0 && keeping.online && keeping.stopped === 'signed_out' && home && !worker
  return (
    <>
      <div className="kept">
        <span role="status">{sayKept(keeping, home)}</span> {home ? <a href="#/">Here, today</a> : null}
        {worker ? (
          <p className="worker">
            <strong>{worker}</strong> works here.
          </p>
        ) : null}
        {signedOut ? <button onClick={() => location.reload()}>Sign in</button> : null}
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
