/** The first ten minutes: what is asked for before anything else, each with 'don't know'. */
import { useQueryClient } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useState } from 'react'
import { useNavigate } from 'react-router'
import { call } from '../client/api.js'
import { Choice, Fault, Field, Heading } from '../ui/parts.js'
import { BeginPerson, personOf } from './begin-person.js'
import { BeginPlace, type Place } from './begin-place.js'
import { mayDecide, useMe } from './me.js'
import { usePeople } from './whole-lists.js'

const MOST_MACHINES = 500

export function Begin(): ReactNode {
  const me = useMe()
  const heading = <Heading title="Begin with a warehouse">Begin with a warehouse</Heading>
  if (!mayDecide(me))
    return (
      <>
        {heading}
        <p className="note">A manager or an administrator registers warehouses and machines.</p>
      </>
    )
  return (
    <>
      {heading}
      <p>
        Seven questions; then labels to print, each scanned where its machine stands. ‘Don’t know’ is an answer everywhere, and nothing is
        late before its first look.
      </p>
      <Questions />
    </>
  )
}

function Questions(): ReactNode {
  const navigate = useNavigate()
  const queries = useQueryClient()
  const people = usePeople()
  const [place, setPlace] = useState<Place>({ name: '', zone: Intl.DateTimeFormat().resolvedOptions().timeZone, known: false })
  const [error, setError] = useState<unknown>(null)
  const [busy, setBusy] = useState(false)
  async function begin(form: FormData): Promise<void> {
    const count = Number(form.get('count'))
    const body = {
      name: String(form.get('name')),
      zone: place.zone,
      place: place.name,
      machineCount: count > 0 ? count : null,
      supply: form.get('supply') as 'dont_know',
      heater: form.get('heater') as 'dont_know',
      first: personOf(form, 'first'),
      second: personOf(form, 'second'),
    }
    const made = await call('beginWarehouse', { body })
    await queries.invalidateQueries()
    await navigate(`/begin/${made.warehouse.id}`)
  }
  const submit = (event: FormEvent<HTMLFormElement>): void => {
    event.preventDefault()
    setBusy(true)
    setError(null)
    begin(new FormData(event.currentTarget))
      .catch(setError)
      .finally(() => setBusy(false))
  }
  const choices = people.data?.filter(({ email, disabled }) => email && !disabled) ?? []
  return (
    <form onSubmit={submit}>
      {error ? <Fault error={error} /> : null}
      {people.error ? <Fault error={people.error} again={() => void people.refetch()} /> : null}
      <Field label="What do you call the warehouse?">{(id) => <input id={id} name="name" required maxLength={200} />}</Field>
      <BeginPlace place={place} onPlace={setPlace} />
      <Field label="How many machines stand there?" hint="Leave it empty where you don’t know: they can be added at any time.">
        {(id) => <input id={id} name="count" type="number" min={1} max={MOST_MACHINES} step={1} inputMode="numeric" />}
      </Field>
      <Choice
        label="Have they a plug, or are they wired in?"
        name="supply"
        hint="Where they differ, say what most are; the others are changed later. Not known counts as wired in, which asks for more care."
        options={[
          ['dont_know', 'don’t know'],
          ['cord_and_plug', 'cord and plug'],
          ['wired_in', 'wired in'],
        ]}
      />
      <Choice
        label="Do they heat their water?"
        name="heater"
        hint="Not known counts as having a heater."
        options={[
          ['dont_know', 'don’t know'],
          ['yes', 'yes, a heater'],
          ['no', 'no heater'],
        ]}
      />
      <BeginPerson name="first" label="Who looks after them?" choices={choices} />
      <BeginPerson
        name="second"
        label="Who is the second person?"
        hint="Told when mail to the first does not arrive, and when care is late."
        choices={choices}
      />
      <button className="main" disabled={busy}>
        {busy ? 'Registering …' : 'Register'}
      </button>
    </form>
  )
}
