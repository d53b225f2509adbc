/** What a scan of the label opens for whoever packs there: do not reach in; then one tap for what is wrong, or that it works again. */
import { useQuery, useQueryClient } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useState } from 'react'
import { type Answer, ApiProblem, call } from '../client/api.js'
import { Fault, Heading } from '../ui/parts.js'

type Page = Answer<'packerPage'>
const WRONG = [
  ['no_water', 'No water'],
  ['wrong_tape', 'Wrong or damp tape'],
  ['jammed', 'Jammed'],
  ['cuts_badly', 'Cuts badly'],
  ['dead', 'Does nothing'],
  ['smell_or_smoke', 'Smell or smoke'],
] as const
const RUNS = [
  ['all_day', 'all day'],
  ['some_hours', 'some hours'],
  ['seldom', 'seldom'],
  ['dont_know', 'I don’t know'],
] as const

export function Packer({ token }: { token: string }): ReactNode {
  const queries = useQueryClient()
  const [error, setError] = useState<unknown>(null)
  const [said, setSaid] = useState<string | null>(null)
  const page = useQuery({ queryKey: ['packer', token], queryFn: () => call('packerPage', { params: { token } }), retry: false })
  const send = (words: string, doing: () => Promise<Page>): void => {
    setError(null)
    doing()
      .then((next) => {
        queries.setQueryData(['packer', token], next)
        setSaid(words)
      })
      .catch(setError)
  }
  if (page.error)
    return (
      <main className="hand">
        {page.error instanceof ApiProblem && page.error.status === 404 ? (
          <p className="note alarmed">
            This label does not count any more. Use the newer one on the machine, or tell whoever looks after it.
          </p>
        ) : (
          <Fault error={page.error} again={() => void page.refetch()} />
        )}
      </main>
    )
  if (!page.data) return <main className="hand" aria-busy="true" />
  return <Shown page={page.data} token={token} said={said} error={error} send={send} />
}

interface Sending {
  page: Page
  token: string
  send: (words: string, doing: () => Promise<Page>) => void
}

function Shown({ page, token, said, error, send }: Sending & { said: string | null; error: unknown }): ReactNode {
  const params = { token }
  return (
    <main className="hand">
      <DoNotReachIn page={page} />
      <Heading title={page.labelCode}>
        {page.labelCode} {page.place ? <span className="soft">{page.place}</span> : null}
      </Heading>
      {error ? <Fault error={error} /> : null}
      <p role="status" className={said ? 'note' : undefined}>
        {said}
      </p>
      {page.report ? (
        <section aria-label="Reported">
          <p className="strong">
            Reported: {page.report.what.replaceAll('_', ' ')}. Leave it switched off, use another station.
            {page.contactName ? ` ${page.contactName} finds the report on the desk.` : ''}
          </p>
          <button
            className="main"
            onClick={() => send('Thank you. It counts as working again.', () => call('packerWorksAgain', { params }))}
          >
            Works again
          </button>
        </section>
      ) : null}
      <section aria-label="What is wrong">
        <h2>{page.report ? 'Something else is wrong' : 'What is wrong?'}</h2>
        <div className="stack">
          {WRONG.map(([what, words]) => (
            <button
              key={what}
              onClick={() =>
                send(
                  what === 'smell_or_smoke' ? smoke(page) : 'Thank you, that is reported. Leave it switched off, use another station.',
                  () => call('packerReport', { params, body: { id: crypto.randomUUID(), what } }),
                )
              }
            >
              {words}
            </button>
          ))}
        </div>
      </section>
      <Monthly page={page} token={token} send={send} />
      {page.counterKind === 'none' ? null : <Counter page={page} token={token} send={send} />}
      <p className="part small">
        <a href={`/hand.html#/machine/${encodeURIComponent(page.labelCode)}`}>I work on this machine</a>
      </p>
    </main>
  )
}

const smoke = ({ contactName }: Page): string =>
  `Unplug only if you can reach the plug safely and dry; otherwise stay away and call ${contactName ?? 'your supervisor'}.`

/** The lines come before everything else, with a picture for whoever reads another language. */
function DoNotReachIn({ page }: { page: Page }): ReactNode {
  return (
    <section className="note alarmed beside" aria-label="Before anything else">
      <svg viewBox="0 0 48 48" width="64" height="64" role="img" aria-label="No hands in the machine">
        <path
          d="M17 34V18a2 2 0 0 1 4 0v8-12a2 2 0 0 1 4 0v12-11a2 2 0 0 1 4 0v12-8a2 2 0 0 1 4 0v14c0 6-4 9-9 9-4 0-6-2-8-6l-4-8c-1-2 2-4 3-2z"
          fill="none"
          stroke="currentColor"
          strokeWidth="2"
        />
        <circle cx="24" cy="24" r="21" fill="none" stroke="currentColor" strokeWidth="4" />
        <path d="M9 9l30 30" stroke="currentColor" strokeWidth="4" />
      </svg>
      <p className="strong">
        Do not reach in, even when it is still. The blade cuts also when still{page.heater ? ', the heater burns' : ''}.
        {page.supply === 'none' ? '' : ' Water and electricity: dry hands only.'}
      </p>
    </section>
  )
}

function Monthly({ page, token, send }: Sending): ReactNode {
  if (page.monthlyTapGiven) return null
  return (
    <section aria-label="How much does it run?">
      <h2>How much does it run this month?</h2>
      <div className="stack">
        {RUNS.map(([runs, words]) => (
          <button
            key={runs}
            onClick={() => send('Thank you.', () => call('packerTap', { params: { token }, body: { id: crypto.randomUUID(), runs } }))}
          >
            {words}
          </button>
        ))}
      </div>
    </section>
  )
}

function Counter({ token, send }: Sending): ReactNode {
  const [value, setValue] = useState('')
  const give = (event: FormEvent): void => {
    event.preventDefault()
    const number = Number(value.replace(',', '.'))
    if (value.trim() === '' || !Number.isFinite(number)) return
    send('Thank you. If it does not fit the last reading, somebody will look.', () =>
      call('packerCounter', { params: { token }, body: { id: crypto.randomUUID(), value: number } }),
    )
    setValue('')
  }
  return (
    <form onSubmit={give}>
      <label htmlFor="counter">The counter shows</label>
      <div className="beside">
        <input id="counter" inputMode="numeric" value={value} onChange={(event) => setValue(event.target.value)} autoComplete="off" />
        <button className="main" disabled={value.trim() === ''}>
          Send
        </button>
      </div>
    </form>
  )
}
