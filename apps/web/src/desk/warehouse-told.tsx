/** Who is told of a warehouse's dates, how much work fits there, and how sure its parts are to be. */
import type { FormEvent, ReactNode } from 'react'
import { call } from '../client/api.js'
import { Fault, Field } from '../ui/parts.js'
import { SURE, withValue } from './part-choices.js'
import { type HallPart, useChange } from './use-change.js'
import { usePeople } from './whole-lists.js'

export function Told({ hall, decides }: HallPart): ReactNode {
  const { error, change } = useChange()
  const people = usePeople(decides)
  const able = people.data?.filter(({ email, disabled }) => email && !disabled) ?? []
  function put(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const typed = new FormData(event.currentTarget)
    const [firstPersonId, secondPersonId] = [String(typed.get('firstPersonId')) || null, String(typed.get('secondPersonId')) || null]
    const body = {
      ...(firstPersonId === hall.firstPersonId ? {} : { firstPersonId }),
      ...(secondPersonId === hall.secondPersonId ? {} : { secondPersonId }),
    }
    if (Object.keys(body).length > 0)
      void change(() => call('patchWarehouse', { params: { warehouseId: hall.id }, body: { ...body, version: hall.version } }))
  }
  return (
    <section aria-labelledby="told">
      <h2 id="told">Who is told</h2>
      {error ? <Fault error={error} /> : null}
      {people.error ? <Fault error={people.error} again={() => void people.refetch()} /> : null}
      {decides ? (
        <form className="row" onSubmit={put} key={`${hall.version} ${people.data ? 'read' : ''}`}>
          {(
            [
              ['firstPersonId', 'Reminders go to', hall.firstPersonName],
              ['secondPersonId', 'Then to', hall.secondPersonName],
            ] as const
          ).map(([key, words, name]) => (
            <div key={key}>
              <label htmlFor={key}>{words}</label>
              <select id={key} name={key} defaultValue={hall[key] ?? ''}>
                <option value="">nobody yet</option>
                {hall[key] && !able.some(({ id }) => id === hall[key]) ? (
                  <option value={hall[key]}>{people.data ? `${name}, whom no mail reaches` : name}</option>
                ) : null}
                {able.map((person) => (
                  <option key={person.id} value={person.id}>
                    {person.name}
                  </option>
                ))}
              </select>
            </div>
          ))}
          <button>Keep</button>
        </form>
      ) : (
        <p>
          Reminders go to {hall.firstPersonName ?? 'nobody'}, then to {hall.secondPersonName ?? 'nobody'}.
        </p>
      )}
      <p className="soft">Serve this warehouse: {hall.people.map((person) => person.name).join(', ') || 'nobody yet'}.</p>
    </section>
  )
}

export function Hours({ hall, decides }: HallPart): ReactNode {
  const { error, change } = useChange()
  function put(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const given = String(new FormData(event.currentTarget).get('hours')).trim()
    const technicianHoursAWeek = given === '' ? null : Number(given)
    void change(() => call('patchWarehouse', { params: { warehouseId: hall.id }, body: { technicianHoursAWeek, version: hall.version } }))
  }
  return (
    <section aria-labelledby="hours">
      <h2 id="hours">Hours of technicians’ work</h2>
      {error ? <Fault error={error} /> : null}
      {decides ? (
        <form className="row" onSubmit={put} key={hall.version}>
          <Field
            label="Hours a week here"
            hint="Left empty: not known. First looks at machines with an unknown past are spread so that they fit."
          >
            {(id) => (
              <input
                id={id}
                name="hours"
                type="number"
                inputMode="decimal"
                min="0.5"
                max="10000"
                step="0.5"
                defaultValue={hall.technicianHoursAWeek ?? ''}
              />
            )}
          </Field>
          <button>Keep</button>
        </form>
      ) : (
        <p>{hall.technicianHoursAWeek === null ? 'Not known.' : `${hall.technicianHoursAWeek} hours a week.`}</p>
      )}
    </section>
  )
}

/** The chance that a part is there when it is needed: what mails and the page of parts go by. */
export function PartsService({ hall, decides }: HallPart): ReactNode {
  const { error, change } = useChange()
  function put(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const partsServicePercent = Number(new FormData(event.currentTarget).get('sure'))
    void change(() => call('patchWarehouse', { params: { warehouseId: hall.id }, body: { partsServicePercent, version: hall.version } }))
  }
  return (
    <section aria-labelledby="parts-service">
      <h2 id="parts-service">Parts</h2>
      {error ? <Fault error={error} /> : null}
      {decides ? (
        <form className="row" onSubmit={put} key={hall.version}>
          <Field
            label="How sure that no part is missing when it is needed"
            hint="The surer, the earlier and the more is to be ordered. 95 % leaves one time in twenty."
          >
            {(id) => (
              <select id={id} name="sure" defaultValue={hall.partsServicePercent}>
                {withValue(SURE, hall.partsServicePercent).map((value) => (
                  <option key={value} value={value}>
                    {value} %
                  </option>
                ))}
              </select>
            )}
          </Field>
          <button>Keep</button>
        </form>
      ) : (
        <p>{hall.partsServicePercent} % sure that no part is missing when it is needed.</p>
      )}
    </section>
  )
}
