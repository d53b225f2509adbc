/** Which small outside care somebody was shown, by whom; written down here, and taken back. */
import { useQuery } from '@tanstack/react-query'
import type { FormEvent, ReactNode } from 'react'
import { call } from '../client/api.js'
import { AskOnce } from '../ui/ask-once.js'
import { sayDay } from '../ui/format.js'
import { Fault, Field } from '../ui/parts.js'
import { useToday } from './me.js'
import { useChange } from './use-change.js'
import type { Person } from './whole-lists.js'

export function WasShown({ person, onGone }: { person: Person; onGone: () => void }): ReactNode {
  const { error, change } = useChange()
  const today = useToday()
  if (person.instructions.length === 0) return null
  const takeBack = (instructionId: string): void =>
    void change(() => call('removeInstruction', { params: { personId: person.id, instructionId } }).then(onGone))
  return (
    <>
      {error ? <Fault error={error} /> : null}
      <ul className="plain sentences">
        {person.instructions.map(({ id, machineTypeId, machineTypeName, instructedOn, instructedBy }) => (
          <li key={id}>
            Was shown small outside care on {machineTypeName} on {sayDay(instructedOn, today)}, by {instructedBy}.{' '}
            <AskOnce
              open="Take back…"
              name={`${person.name} was shown ${machineTypeName} on ${sayDay(instructedOn, today)}`}
              confirm="Take it back"
              leave="Let it stand"
              onDo={() => takeBack(id)}
            >
              {whatFollows(person, machineTypeName, person.instructions.filter((one) => one.machineTypeId === machineTypeId).length > 1)}
            </AskOnce>
          </li>
        ))}
      </ul>
    </>
  )
}

function whatFollows({ name, role }: Person, typeName: string, again: boolean): string {
  const stays = 'What was done stays written down.'
  if (again) return `${name} was shown ${typeName} another time, too, and may go on doing its care. ${stays}`
  if (role !== 'instructed') return `A ${role} may do this care without being shown; only this line goes. ${stays}`
  return `${name} is offered no care of ${typeName} any more: not on a round, not by a mail’s link, not on a shared tablet. ${stays}`
}

export function Show({ person }: { person: Person }): ReactNode {
  const { error, change } = useChange()
  const today = useToday()
  const types = useQuery({ queryKey: ['types'], queryFn: () => call('listMachineTypes') })
  function add(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    const body = { machineTypeId: String(form.get('type')), instructedOn: String(form.get('on')), instructedBy: String(form.get('by')) }
    void change(() => call('addInstruction', { params: { personId: person.id }, body }))
  }
  return (
    <form onSubmit={add} aria-label={`${person.name} was shown care`}>
      {error ? <Fault error={error} /> : null}
      <Field label="Was shown care on">
        {(id) => (
          <select id={id} name="type">
            {types.data?.items.map((type) => (
              <option key={type.id} value={type.id}>
                {type.name}
              </option>
            ))}
          </select>
        )}
      </Field>
      <Field label="On">{(id) => <input id={id} name="on" type="date" required defaultValue={today} max={today} />}</Field>
      <Field label="By">{(id) => <input id={id} name="by" required maxLength={200} />}</Field>
      <button>Write it down</button>
    </form>
  )
}
