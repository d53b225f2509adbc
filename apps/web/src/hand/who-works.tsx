/** 'Who is working?' and the short code, before each sheet on a shared tablet. Keys large enough for gloves. */
import { type FormEvent, type ReactNode, useEffect, useState } from 'react'
import { HandHeading } from './heading.js'
import { Kept } from './kept-bar.js'
import type { Keeping } from './kept.js'
import { Away, SignedOut, type Turn } from './server.js'
import { beginTurn, stopBeingTablet, whoMayWork, type Workers } from './tablet.js'

interface Given {
  keeping: Keeping
  /** The tablet's own. */
  secret: string
  /** Who worked last, asked first. */
  lastId: string | null
  /** Of the sheet that is about to be opened. */
  before: string | null
  onTurn: (turn: Turn) => void
  onNoTablet: () => void
}
type Looked = { state: 'looking' } | { state: 'away' } | { state: 'ended' } | { state: 'there'; workers: Workers }

export function WhoWorks(given: Given): ReactNode {
  const { keeping, secret } = given
  const { store, online } = keeping
  const [looked, setLooked] = useState<Looked>({ state: 'looking' })
  useEffect(() => {
    let gone = false
    whoMayWork(store, secret).then(
      (workers) => void (gone || setLooked({ state: 'there', workers })),
      (error: unknown) => void (gone || setLooked({ state: error instanceof SignedOut ? 'ended' : 'away' })),
    )
    return () => {
      gone = true
    }
  }, [store, secret, online])
  return (
    <main className="hand">
      <Kept keeping={keeping} home={false} />
      <Asked looked={looked} given={given} />
    </main>
  )
}

function Asked({ looked, given }: { looked: Looked; given: Given }): ReactNode {
  if (looked.state === 'looking') return <div className="bone" />
  if (looked.state === 'away')
    return <p className="note">No network, and this tablet has not asked yet who works here. It must once, with the network.</p>
  if (looked.state === 'there') return <People workers={looked.workers} given={given} />
  return (
    <>
      <HandHeading title="No shared tablet">No shared tablet any more</HandHeading>
      <p className="note alarmed">
        A manager has ended this tablet.{' '}
        {given.keeping.waiting > 0 ? 'What is only kept here waits until whoever typed it signs in here.' : ''}
      </p>
      <button className="main" onClick={() => void stopBeingTablet(given.keeping.store).then(given.onNoTablet)}>
        Sign in here by password
      </button>
    </>
  )
}

function People({ workers, given }: { workers: Workers; given: Given }): ReactNode {
  const { tablet, knownHere, online } = workers
  const [personId, setPersonId] = useState<string | null>(given.lastId)
  const person = tablet.people.find(({ id }) => id === personId)
  const canBegin = ({ id, hasCode }: { id: string; hasCode: boolean }): boolean => hasCode && (online || knownHere.has(id))
  if (person && canBegin(person)) return <CodePad key={person.id} person={person} given={given} onOther={() => setPersonId(null)} />
  return (
    <>
      <HandHeading title="Who is working?">Who is working?</HandHeading>
      <p className="soft">
        {tablet.name}, {tablet.warehouse.name}.{' '}
        {given.before ? `Said before each sheet; next is ${given.before}.` : 'Said before each sheet.'}
      </p>
      {online ? null : <p className="note">No network: those whose code was checked on this tablet before can begin.</p>}
      <div className="stack">
        {tablet.people.filter(canBegin).map(({ id, name }) => (
          <button key={id} onClick={() => setPersonId(id)}>
            {name}
          </button>
        ))}
      </div>
      {tablet.people.some((one) => !canBegin(one)) ? (
        <p className="soft small">
          Not yet here:{' '}
          {tablet.people
            .filter((one) => !canBegin(one))
            .map(({ name }) => name)
            .join(', ')}
          . {online ? 'They set a short code first, under their own sign-in.' : 'Their code can be checked once the network is there.'}
        </p>
      ) : null}
    </>
  )
}

const DIGITS = ['1', '2', '3', '4', '5', '6', '7', '8', '9'] as const
const LONGEST = 8

function CodePad({ person, given, onOther }: { person: { id: string; name: string }; given: Given; onOther: () => void }): ReactNode {
  const [code, setCode] = useState('')
  const [fault, setFault] = useState('')
  const [checking, setChecking] = useState(false)
  const type = (digit: string): void => setCode((typed) => `${typed}${digit}`.slice(0, LONGEST))
  function begin(event: FormEvent): void {
    event.preventDefault()
    if (code.length < 4 || checking) return
    setChecking(true)
    setFault('')
    beginTurn(given.keeping.store, given.secret, person.id, code).then(given.onTurn, (error: Error) => {
      setFault(error instanceof Away ? 'The server cannot be reached; try again.' : error.message)
      setCode('')
      setChecking(false)
    })
  }
  return (
    <form onSubmit={begin}>
      <HandHeading title={`Code of ${person.name}`}>{person.name}</HandHeading>
      {given.before ? <p className="soft">Next: {given.before}.</p> : null}
      {fault ? (
        <p className="note alarmed" role="alert">
          {fault}
        </p>
      ) : null}
      <label htmlFor="code-of">Short code</label>
      <input
        id="code-of"
        type="password"
        inputMode="none"
        autoComplete="off"
        value={code}
        onChange={(event) => setCode(event.target.value.replace(/\D/g, '').slice(0, LONGEST))}
      />
      <div className="pad" role="group" aria-label="Digits">
        {DIGITS.map((digit) => (
          <button key={digit} type="button" onClick={() => type(digit)}>
            {digit}
          </button>
        ))}
        <button type="button" onClick={() => setCode('')}>
          Erase
        </button>
        <button type="button" onClick={() => type('0')}>
          0
        </button>
        <button className="main" disabled={code.length < 4 || checking}>
          {checking ? '…' : 'Begin'}
        </button>
      </div>
      <div className="stack">
        <button type="button" onClick={onOther}>
          Somebody else
        </button>
      </div>
      <p className="soft small">What you enter next stands under {person.name}.</p>
    </form>
  )
}
