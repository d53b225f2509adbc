/** One warehouse: its week, closures and peaks, who serves it and who is told, its stations in walking order. */
import { SURE, withValue } from './part-choices.js'
import { useQuery } from '@tanstack/react-query'
import type { FormEvent, ReactNode } from 'react'
import { useParams } from 'react-router'
import { call } from '../client/api.js'
import { sayCount, sayDay, sayWord } from '../ui/format.js'
import { Bones, Fault, Field, Heading, NoPage } from '../ui/parts.js'
import { mayDecide, useMe } from './me.js'
import { Stations } from './set-up-stations.js'
import { type Hall, useChange } from './use-change.js'

const DAYS = ['Monday', 'Tuesday', 'Wednesday', 'Thursday', 'Friday', 'Saturday', 'Sunday']

export function SetUpWarehouse(): ReactNode {
  const { warehouseId = '' } = useParams()
  const hall = useQuery({ queryKey: ['warehouse', warehouseId], queryFn: () => call('getWarehouse', { params: { warehouseId } }) })
  if (hall.isPending) return <Bones lines={12} />
  if (hall.error) return <NoPage title="Warehouse" error={hall.error} again={() => void hall.refetch()} />
  return <Page hall={hall.data} />
}

function Page({ hall }: { hall: Hall }): ReactNode {
  const decides = mayDecide(useMe())
  return (
    <>
      <Heading title={hall.name}>{hall.name}</Heading>
      <p>
        Time zone {hall.zone}; {sayCount(hall.machineCount, 'machine', 'machines')} at {sayCount(hall.stationCount, 'station', 'stations')}.
        Today there is {sayDay(hall.today, '')}. {hall.upToDate ? 'All dates rest on all evidence.' : 'New evidence is being worked in.'}
      </p>
      <Told hall={hall} decides={decides} />
      <Week hall={hall} decides={decides} />
      <Hours hall={hall} decides={decides} />
      <PartsService hall={hall} decides={decides} />
      <Closures hall={hall} decides={decides} />
      <Peaks hall={hall} decides={decides} />
      <Stations hall={hall} decides={decides} />
    </>
  )
}

interface Part {
  hall: Hall
  decides: boolean
}

function Told({ hall, decides }: Part): ReactNode {
  const { error, change } = useChange()
  const people = useQuery({ queryKey: ['people'], queryFn: () => call('listPeople', { query: { limit: 200 } }), enabled: decides })
  const able = people.data?.items.filter(({ email, disabled }) => email && !disabled) ?? []
  const name = (id: string | null): string => hall.people.find((person) => person.id === id)?.name ?? 'nobody'
  const put = (key: 'firstPersonId' | 'secondPersonId', id: string): void =>
    void change(() => call('patchWarehouse', { params: { warehouseId: hall.id }, body: { [key]: id || null, version: hall.version } }))
  return (
    <section aria-labelledby="told">
      <h2 id="told">Who is told</h2>
      {error ? <Fault error={error} /> : null}
      {decides ? (
        <div className="row">
          {(
            [
              ['firstPersonId', 'Reminders go to'],
              ['secondPersonId', 'Then to'],
            ] as const
          ).map(([key, words]) => (
            <div key={key}>
              <label htmlFor={key}>{words}</label>
              <select id={key} value={hall[key] ?? ''} onChange={(event) => put(key, event.target.value)}>
                <option value="">nobody yet</option>
                {able.map((person) => (
                  <option key={person.id} value={person.id}>
                    {person.name}
                  </option>
                ))}
              </select>
            </div>
          ))}
        </div>
      ) : (
        <p>
          Reminders go to {name(hall.firstPersonId)}, then to {name(hall.secondPersonId)}.
        </p>
      )}
      <p className="soft">Serve this warehouse: {hall.people.map((person) => person.name).join(', ') || 'nobody yet'}.</p>
    </section>
  )
}

function Hours({ hall, decides }: Part): ReactNode {
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
function PartsService({ hall, decides }: Part): ReactNode {
  const { error, change } = useChange()
  const put = (value: string): void =>
    void change(() =>
      call('patchWarehouse', { params: { warehouseId: hall.id }, body: { partsServicePercent: Number(value), version: hall.version } }),
    )
  return (
    <section aria-labelledby="parts-service">
      <h2 id="parts-service">Parts</h2>
      {error ? <Fault error={error} /> : null}
      {decides ? (
        <Field
          label="How sure that no part is missing when it is needed"
          hint="The surer, the earlier and the more is to be ordered. 95 % leaves one time in twenty."
        >
          {(id) => (
            <select id={id} value={hall.partsServicePercent} onChange={(event) => put(event.target.value)}>
              {withValue(SURE, hall.partsServicePercent).map((value) => (
                <option key={value} value={value}>
                  {value} %
                </option>
              ))}
            </select>
          )}
        </Field>
      ) : (
        <p>{hall.partsServicePercent} % sure that no part is missing when it is needed.</p>
      )}
    </section>
  )
}

function Week({ hall, decides }: Part): ReactNode {
  const { error, change } = useChange()
  const params = { warehouseId: hall.id }
  const kept = hall.shifts.map(({ weekday, starts, ends }) => ({ weekday, starts: starts.slice(0, 5), ends: ends.slice(0, 5) }))
  function add(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    const made = form
      .getAll('day')
      .map((day) => ({ weekday: Number(day), starts: String(form.get('starts')), ends: String(form.get('ends')) }))
    void change(() => call('putShifts', { params, body: { shifts: [...kept, ...made] } }))
  }
  return (
    <section aria-labelledby="week">
      <h2 id="week">Working week</h2>
      {error ? <Fault error={error} /> : null}
      {kept.length === 0 ? <p className="note">No shift is entered, so no day is a working day and no date can be planned.</p> : null}
      <ul className="plain sentences">
        {kept.map((shift, index) => (
          <li key={`${shift.weekday}${shift.starts}`}>
            {DAYS[shift.weekday - 1]} {shift.starts} to {shift.ends}{' '}
            {decides ? (
              <button
                className="small"
                onClick={() =>
                  void change(() => call('putShifts', { params, body: { shifts: kept.filter((_, other) => other !== index) } }))
                }
              >
                Remove
              </button>
            ) : null}
          </li>
        ))}
      </ul>
      {decides ? (
        <details>
          <summary>Add a shift…</summary>
          <form onSubmit={add}>
            <fieldset className="days">
              <legend>On</legend>
              {DAYS.map((day, index) => (
                <label key={day}>
                  <input type="checkbox" name="day" value={index + 1} /> {day}
                </label>
              ))}
            </fieldset>
            <Field label="From">{(id) => <input id={id} name="starts" type="time" required />}</Field>
            <Field label="To" hint="An end before the start is on the next day.">
              {(id) => <input id={id} name="ends" type="time" required />}
            </Field>
            <button className="main">Add</button>
          </form>
        </details>
      ) : null}
    </section>
  )
}

function Closures({ hall, decides }: Part): ReactNode {
  const { error, change } = useChange()
  function add(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    const fromDate = String(form.get('from'))
    const body = { fromDate, toDate: String(form.get('to')) || fromDate, reason: String(form.get('reason')) }
    void change(() => call('addClosure', { params: { warehouseId: hall.id }, body }))
  }
  const coming = hall.closures.filter(({ toDate }) => toDate >= hall.today)
  return (
    <section aria-labelledby="closed">
      <h2 id="closed">Closed days to come</h2>
      {error ? <Fault error={error} /> : null}
      {coming.length === 0 ? <p className="soft">None is entered.</p> : null}
      <ul className="plain sentences">
        {coming.map(({ id, fromDate, toDate, reason }) => (
          <li key={id}>
            {sayDay(fromDate, hall.today)}
            {fromDate === toDate ? '' : ` to ${sayDay(toDate, hall.today)}`}
            {reason ? `, ${reason}` : ''}{' '}
            {decides ? (
              <button
                className="small"
                onClick={() => void change(() => call('removeClosure', { params: { warehouseId: hall.id, closureId: id } }))}
              >
                Remove
              </button>
            ) : null}
          </li>
        ))}
      </ul>
      {decides ? (
        <details>
          <summary>Add closed days…</summary>
          <form onSubmit={add}>
            <Field label="First day">{(id) => <input id={id} name="from" type="date" required />}</Field>
            <Field label="Last day" hint="Left empty: the same day.">
              {(id) => <input id={id} name="to" type="date" />}
            </Field>
            <Field label="Why">{(id) => <input id={id} name="reason" maxLength={200} />}</Field>
            <button className="main">Add</button>
          </form>
        </details>
      ) : null}
    </section>
  )
}

function Peaks({ hall, decides }: Part): ReactNode {
  const { error, change } = useChange()
  function add(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    const body = {
      name: String(form.get('name')),
      fromDate: String(form.get('from')),
      toDate: String(form.get('to')),
      usageMultiplier: Number(form.get('times')),
      bars: form.get('bars') as Hall['peaks'][number]['bars'],
    }
    void change(() => call('addPeak', { params: { warehouseId: hall.id }, body }))
  }
  return (
    <section aria-labelledby="peaks">
      <h2 id="peaks">Peaks</h2>
      {error ? <Fault error={error} /> : null}
      {hall.peaks.length === 0 ? <p className="soft">None is entered.</p> : null}
      <ul className="plain sentences">
        {hall.peaks.map(({ id, name, fromDate, toDate, usageMultiplier, bars }) => (
          <li key={id}>
            {name || 'A peak'}, {sayDay(fromDate, hall.today)} to {sayDay(toDate, hall.today)}: {usageMultiplier} times the usual work; bars{' '}
            {sayWord(bars)}.{' '}
            {decides ? (
              <button
                className="small"
                onClick={() => void change(() => call('removePeak', { params: { warehouseId: hall.id, peakId: id } }))}
              >
                Remove
              </button>
            ) : null}
          </li>
        ))}
      </ul>
      {decides ? (
        <details>
          <summary>Add a peak…</summary>
          <form onSubmit={add}>
            <Field label="Name">{(id) => <input id={id} name="name" maxLength={100} />}</Field>
            <Field label="First day">{(id) => <input id={id} name="from" type="date" required />}</Field>
            <Field label="Last day">{(id) => <input id={id} name="to" type="date" required />}</Field>
            <Field label="Work, against the usual" unit="times">
              {(id) => <input id={id} name="times" type="number" step="0.1" min="0.1" max="20" defaultValue="1.5" required />}
            </Field>
            <Field label="What it bars" hint="Rounds of small outside care are never barred.">
              {(id) => (
                <select id={id} name="bars">
                  <option value="nothing">nothing</option>
                  <option value="no_visits">visits and technicians’ work</option>
                  <option value="short_care_only">work over 15 minutes</option>
                </select>
              )}
            </Field>
            <button className="main">Add</button>
          </form>
        </details>
      ) : null}
    </section>
  )
}
