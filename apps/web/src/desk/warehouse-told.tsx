/** Who is told of a warehouse's dates, how much work fits there, and how sure its parts are to be. */
import type { FormEvent, ReactNode } from 'react'
import { call } from '../client/api.js'
import { Fault, Field } from '../ui/parts.js'
import { SURE, withValue } from './part-choices.js'
import { RecordFault, useRecordChange, useUntouched } from './record-change.js'
import type { Hall, HallPart } from './use-change.js'
import { type Person, usePeople } from './whole-lists.js'

interface OpenForm {
  onTouch: () => void
  onKept: () => void
}

function useHallChange<Key extends keyof Hall>(hall: Hall, onEnd: () => void) {
  const params = { warehouseId: hall.id }
  return useRecordChange<Pick<Hall, Key>>({
    record: hall,
    read: () => call('getWarehouse', { params }),
    send: (body) => call('patchWarehouse', { params, body }),
    onEnd,
  })
}

export function Told({ hall, decides }: HallPart): ReactNode {
  const people = usePeople(decides)
  const { key, touch, follow } = useUntouched(`${hall.firstPersonId} ${hall.secondPersonId} ${people.data ? 'read' : ''}`)
  return (
    <section aria-labelledby="told">
      <h2 id="told">Who is told</h2>
      {people.error ? <Fault error={people.error} again={() => void people.refetch()} /> : null}
      {decides ? (
        <NameWho key={key} hall={hall} people={people.data} onTouch={touch} onKept={follow} />
      ) : (
        <p>
          Reminders go to {hall.firstPersonName ?? 'nobody'}, then to {hall.secondPersonName ?? 'nobody'}.
        </p>
      )}
      <p className="soft">Serve this warehouse: {hall.people.map((person) => person.name).join(', ') || 'nobody yet'}.</p>
    </section>
  )
}

function NameWho({ hall, people, onTouch, onKept }: { hall: Hall; people: Person[] | undefined } & OpenForm): ReactNode {
  const { opened, now, error, keep } = useHallChange<'firstPersonId' | 'secondPersonId'>(hall, onKept)
  const able = people?.filter(({ email, disabled }) => email && !disabled) ?? []
  const nameOf = (id: string | null): string => (id === null ? 'nobody' : (people?.find((person) => person.id === id)?.name ?? 'somebody'))
  function put(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const typed = new FormData(event.currentTarget)
    keep({ firstPersonId: String(typed.get('firstPersonId')) || null, secondPersonId: String(typed.get('secondPersonId')) || null })
  }
  return (
    <>
      <RecordFault
        error={error}
        opened={opened}
        now={now}
        words={{ firstPersonId: ['Who is told first', nameOf], secondPersonId: ['Who is told then', nameOf] }}
      />
      <form className="row" onSubmit={put} onChange={onTouch} aria-label="Who is told">
        {(
          [
            ['firstPersonId', 'Reminders go to', hall.firstPersonName],
            ['secondPersonId', 'Then to', hall.secondPersonName],
          ] as const
        ).map(([key, words, name]) => (
          <div key={key}>
            <label htmlFor={key}>{words}</label>
            <select id={key} name={key} defaultValue={opened[key] ?? ''}>
              <option value="">nobody yet</option>
              {opened[key] && !able.some(({ id }) => id === opened[key]) ? (
                <option value={opened[key]}>{people ? `${name}, whom no mail reaches` : name}</option>
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
    </>
  )
}

export function Hours({ hall, decides }: HallPart): ReactNode {
  const { key, touch, follow } = useUntouched(String(hall.technicianHoursAWeek))
  return (
    <section aria-labelledby="hours">
      <h2 id="hours">Hours of technicians’ work</h2>
      {decides ? <StateHours key={key} hall={hall} onTouch={touch} onKept={follow} /> : <p>{sayHours(hall.technicianHoursAWeek)}.</p>}
    </section>
  )
}

const sayHours = (hours: number | null): string => (hours === null ? 'Not known' : `${hours} hours a week`)

function StateHours({ hall, onTouch, onKept }: { hall: Hall } & OpenForm): ReactNode {
  const { opened, now, error, keep } = useHallChange<'technicianHoursAWeek'>(hall, onKept)
  function put(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const given = String(new FormData(event.currentTarget).get('hours')).trim()
    keep({ technicianHoursAWeek: given === '' ? null : Number(given) })
  }
  return (
    <>
      <RecordFault
        error={error}
        opened={opened}
        now={now}
        words={{ technicianHoursAWeek: ['Work here', (hours) => sayHours(hours).toLowerCase()] }}
      />
      <form className="row" onSubmit={put} onChange={onTouch} aria-labelledby="hours">
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
              defaultValue={opened.technicianHoursAWeek ?? ''}
            />
          )}
        </Field>
        <button>Keep</button>
      </form>
    </>
  )
}

const saySure = (percent: number): string => `${percent} % sure that no part is missing when it is needed`

/** The chance that a part is there when it is needed: what mails and the page of parts go by. */
export function PartsService({ hall, decides }: HallPart): ReactNode {
  const { key, touch, follow } = useUntouched(String(hall.partsServicePercent))
  return (
    <section aria-labelledby="parts-service">
      <h2 id="parts-service">Parts</h2>
      {decides ? <StateSureness key={key} hall={hall} onTouch={touch} onKept={follow} /> : <p>{saySure(hall.partsServicePercent)}.</p>}
    </section>
  )
}

function StateSureness({ hall, onTouch, onKept }: { hall: Hall } & OpenForm): ReactNode {
  const { opened, now, error, keep } = useHallChange<'partsServicePercent'>(hall, onKept)
  function put(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    keep({ partsServicePercent: Number(new FormData(event.currentTarget).get('sure')) })
  }
  return (
    <>
      <RecordFault error={error} opened={opened} now={now} words={{ partsServicePercent: ['It', saySure] }} />
      <form className="row" onSubmit={put} onChange={onTouch} aria-labelledby="parts-service">
        <Field
          label="How sure that no part is missing when it is needed"
          hint="The surer, the earlier and the more is to be ordered. 95 % leaves one time in twenty."
        >
          {(id) => (
            <select id={id} name="sure" defaultValue={opened.partsServicePercent}>
              {withValue(SURE, opened.partsServicePercent).map((value) => (
                <option key={value} value={value}>
                  {value} %
                </option>
              ))}
            </select>
          )}
        </Field>
        <button>Keep</button>
      </form>
    </>
  )
}
