/** One's own short code for shared tablets. */
import { type FormEvent, type ReactNode, useState } from 'react'
import { HandHeading } from './heading.js'
import { ask } from './server.js'
import type { HandMe } from './who.js'

export function ShortCodePage({ me }: { me: HandMe }): ReactNode {
  const [code, setCode] = useState('')
  const [setAt, setSetAt] = useState(me.person.shortCodeSetAt)
  const [said, setSaid] = useState('')
  const [fault, setFault] = useState('')
  async function put(next: string | null): Promise<void> {
    setFault('')
    setSaid('')
    try {
      const answer = await ask<{ setAt: string | null }>('PUT', '/api/v1/me/short-code', { code: next })
      setSetAt(answer.setAt)
      setSaid(
        next === null
          ? 'You have no code any more.'
          : 'This code counts from now on. What you typed on a tablet under the former one waits there for it.',
      )
      setCode('')
    } catch (error) {
      setFault((error as Error).message)
    }
  }
  return (
    <>
      <HandHeading title="Your short code">Your short code</HandHeading>
      <p>
        On a shared tablet you say with it, before each sheet, that it is you who works. {setAt ? 'You have one.' : 'You have none yet.'}
      </p>
      {fault ? (
        <p className="note alarmed" role="alert">
          {fault}
        </p>
      ) : null}
      <p role="status" className={said ? 'note' : undefined}>
        {said}
      </p>
      <form
        onSubmit={(event: FormEvent) => {
          event.preventDefault()
          void put(code)
        }}
      >
        <label htmlFor="new-code">{setAt ? 'New code' : 'Code'}, 4 to 8 digits</label>
        <input
          id="new-code"
          inputMode="numeric"
          autoComplete="off"
          value={code}
          onChange={(event) => setCode(event.target.value.replace(/\D/g, '').slice(0, 8))}
        />
        <p className="soft small">No row, pair or year. It opens the work on site and nothing else; tell it to nobody.</p>
        <button className="main" disabled={code.length < 4}>
          This is my code
        </button>
      </form>
      {setAt ? (
        <div className="stack">
          <button onClick={() => void put(null)}>Have no code any more</button>
        </div>
      ) : null}
    </>
  )
}
