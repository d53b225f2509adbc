/** A warehouse's round of this month: how far it is, who walks it, and a link for somebody who has no mail or lost it. */
import { useQuery } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useId, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { sayCount, sayInstant } from '../ui/format.js'
import { Bones, Fault, Field } from '../ui/parts.js'
import { mayDecide, useMe, useZone } from './me.js'
import { usePeople } from './whole-lists.js'

export function RoundLine({ warehouseId, name }: { warehouseId: string; name: string }): ReactNode {
  const me = useMe()
  const [open, setOpen] = useState(false)
  const round = useQuery({ queryKey: ['round', warehouseId], queryFn: () => call('getRound', { query: { warehouseId } }) })
  if (round.error) return <Fault error={round.error} />
  if (!round.data) return <Bones lines={1} />
  const { doneCount, openCount, lines, month } = round.data
  return (
    <>
      <p>
        {name}:{' '}
        {lines.length === 0
          ? 'nothing is asked for this month.'
          : `${sayCount(doneCount, 'machine', 'machines')} done, ${openCount} still open.`}{' '}
        {openCount > 0 ? <a href={`/hand.html#/round/${warehouseId}`}>Walk the round</a> : null}{' '}
        {openCount > 0 && mayDecide(me) ? (
          <button
            className="small no-print"
            aria-expanded={open}
            aria-label={`A link to the round of ${name} for somebody`}
            onClick={() => setOpen(!open)}
          >
            A link for somebody…
          </button>
        ) : null}
      </p>
      {open ? <MakeLink warehouseId={warehouseId} month={month} /> : null}
    </>
  )
}

function MakeLink({ warehouseId, month }: { warehouseId: string; month: string }): ReactNode {
  const people = usePeople()
  const zone = useZone(warehouseId)
  const shown = useId()
  const [link, setLink] = useState<(Answer<'createRoundLink'> & { name: string }) | null>(null)
  const [error, setError] = useState<unknown>(null)
  if (people.isPending) return <Bones lines={1} />
  if (people.error) return <Fault error={people.error} again={() => void people.refetch()} />
  const here = people.data.filter(({ disabled, warehouseIds }) => !disabled && warehouseIds.includes(warehouseId))
  function make(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const personId = String(new FormData(event.currentTarget).get('person'))
    const name = here.find(({ id }) => id === personId)?.name ?? ''
    setError(null)
    call('createRoundLink', { body: { warehouseId, month, personId } }).then((made) => setLink({ ...made, name }), setError)
  }
  if (here.length === 0) return <p className="soft">Nobody serves this warehouse yet; name somebody under Set-up, People.</p>
  return (
    <form onSubmit={make} className="no-print">
      {error ? <Fault error={error} /> : null}
      <Field label="For" hint="It opens this month’s round alone, without a sign-in. Whoever has the link answers under this name.">
        {(id) => (
          <select id={id} name="person">
            {here.map(({ id: personId, name }) => (
              <option key={personId} value={personId}>
                {name}
              </option>
            ))}
          </select>
        )}
      </Field>
      <button>Make the link</button>
      {link ? (
        <div role="status">
          <label htmlFor={shown}>Shown once; pass it on to {link.name} alone</label>
          <input id={shown} readOnly value={link.url} onFocus={(event) => event.target.select()} />
          <p className="soft small">Good until {sayInstant(link.expiresAt, zone)}.</p>
        </div>
      ) : null}
    </form>
  )
}
