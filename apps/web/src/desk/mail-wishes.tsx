/** When and about what a person wants their digests: their own page, or a colleague's as a manager sees it. */
import { useQuery } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useState } from 'react'
import { Link, useParams } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayInstant } from '../ui/format.js'
import { Bones, Fault, Field, Heading } from '../ui/parts.js'
import { Calendars } from './calendars.js'
import { mayDecide, useMe } from './me.js'
import { useChange } from './use-change.js'

type Wishes = Answer<'getMyMail'>
type Sent = NonNullable<Parameters<typeof call<'patchMyMail'>>[1]>['body']

const KINDS = [
  ['coming_due', 'Coming due', 'Announced the days ahead that you choose below.'],
  ['due', 'Due', 'Without it, the other person named for the warehouse is told.'],
  ['late', 'Late', 'Without it, the other person named is told.'],
  ['passed_on', 'Passed on to me', 'Without it, the other person named is told.'],
  [
    'month_list',
    'The month’s round',
    'The list of the first working day, and one line in the last week. Without it, the other person gets it.',
  ],
  ['work_orders', 'Work orders issued to me', 'They stand on the phone all the same.'],
  ['parts', 'Parts to order', 'They stand on the desk all the same.'],
] as const
const WEEKDAYS = ['Monday', 'Tuesday', 'Wednesday', 'Thursday', 'Friday', 'Saturday', 'Sunday']

export function MyMail(): ReactNode {
  const me = useMe()
  const mail = useQuery({ queryKey: ['mail', 'me'], queryFn: () => call('getMyMail') })
  return (
    <>
      <Heading title="Your mail">Your mail</Heading>
      {mail.isPending ? <Bones lines={10} /> : null}
      {mail.error ? <Fault error={mail.error} again={() => void mail.refetch()} /> : null}
      {mail.data ? <Wishes key={mail.data.version} mail={mail.data} mine save={(body) => call('patchMyMail', { body })} /> : null}
      {me.person.role === 'instructed' ? null : <Calendars />}
    </>
  )
}

export function PersonMail(): ReactNode {
  const { personId = '' } = useParams()
  const mail = useQuery({ queryKey: ['mail', personId], queryFn: () => call('getPersonMail', { params: { personId } }) })
  return (
    <>
      <Heading title="Mail of a person">Mail{mail.data ? ` of ${mail.data.name}` : ''}</Heading>
      <p>
        <Link to="/set-up/people">All people</Link>
      </p>
      {mail.isPending ? <Bones lines={10} /> : null}
      {mail.error ? <Fault error={mail.error} again={() => void mail.refetch()} /> : null}
      {mail.data ? (
        <Wishes
          key={mail.data.version}
          mail={mail.data}
          mine={false}
          save={(body) => call('patchPersonMail', { params: { personId }, body })}
        />
      ) : null}
    </>
  )
}

interface Given {
  mail: Wishes
  mine: boolean
  save: (body: Sent) => Promise<unknown>
}

function Wishes({ mail, mine, save }: Given): ReactNode {
  return (
    <>
      <Arriving mail={mail} mine={mine} save={save} />
      <Next mail={mail} />
      <Choices mail={mail} save={save} />
    </>
  )
}

/** Whether mail arrives at all, and the two switches that only a person turns back. */
function Arriving({ mail, mine, save }: Given): ReactNode {
  const { error, change } = useChange()
  const whose = mine ? 'Your' : 'Their'
  return (
    <section aria-label="Whether mail arrives">
      {error ? <Fault error={error} /> : null}
      {mail.email === null ? <p>There is no e-mail address, so no mail can go out. An administrator enters it.</p> : null}
      {mail.refusedAddress === null ? null : (
        <div className="note alarmed">
          <p>
            Mail to {mail.refusedAddress} no longer arrives{mail.refusedReason ? `: ${mail.refusedReason}` : ''}. What would go there goes
            to the other person named for the warehouse.
          </p>
          <button className="main" onClick={() => void change(() => save({ arrivesAgain: true }))}>
            The address works again
          </button>
        </div>
      )}
      {mail.reminderMail ? (
        <p>
          {whose} reminder mail is on.{' '}
          <button onClick={() => void change(() => save({ reminderMail: false }))}>Turn reminder mail off</button>
        </p>
      ) : (
        <div className="note">
          <p>
            {whose} reminder mail is off. Urgent mail, such as a safety finding, comes all the same; everything else goes to the other
            person named.
          </p>
          <button className="main" onClick={() => void change(() => save({ reminderMail: true }))}>
            Turn reminder mail on again
          </button>
        </div>
      )}
    </section>
  )
}

function Next({ mail: { next } }: { mail: Wishes }): ReactNode {
  if (next.length === 0) return <p className="soft">Named for no warehouse yet, so there is nothing to be told.</p>
  return (
    <section aria-labelledby="next">
      <h2 id="next">The next digest can go</h2>
      <ul className="plain sentences">
        {next.map(({ warehouseId, warehouseName, zone, at }) => (
          <li key={warehouseId}>
            {warehouseName}: {at === null ? 'not as things stand' : `${sayInstant(at, zone)}, clocks of ${zone}`}
          </li>
        ))}
      </ul>
      <p className="soft">One a warehouse and day at most, and only where something is to be said.</p>
    </section>
  )
}

function bodyOf(form: FormData, version: number): Sent {
  const text = (name: string): string => String(form.get(name) ?? '')
  const wanted = form.getAll('kind').map(String)
  const [from, to] = [text('quietFrom'), text('quietTo')]
  return {
    version,
    unwantedKinds: KINDS.map(([kind]) => kind).filter((kind) => !wanted.includes(kind)),
    leadDays: Number(text('lead')),
    language: text('language') as 'en' | 'de',
    units: text('units') as 'si' | 'us',
    digestWeekday: text('weekday') === '' ? null : Number(text('weekday')),
    digestTime: text('time') || null,
    quiet: from || to ? { from, to } : null,
  }
}

function Choices({ mail, save }: { mail: Wishes; save: Given['save'] }): ReactNode {
  const { error, change } = useChange()
  const [kept, setKept] = useState(false)
  function keep(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const body = bodyOf(new FormData(event.currentTarget), mail.version)
    void change(async () => {
      await save(body)
      setKept(true)
    })
  }
  return (
    <form onSubmit={keep} onChange={() => setKept(false)} aria-labelledby="wishes">
      <h2 id="wishes">What, and when</h2>
      {error ? <Fault error={error} /> : null}
      <fieldset className="plain">
        <legend className="strong">The digest tells of</legend>
        {KINDS.map(([kind, name, why]) => (
          <label key={kind} className="box">
            <input type="checkbox" name="kind" value={kind} defaultChecked={!mail.unwantedKinds.includes(kind)} /> <strong>{name}</strong>{' '}
            <span className="soft">{why}</span>
          </label>
        ))}
      </fieldset>
      <p className="soft">Urgent mails, the last possible day tomorrow and safety findings, are few and cannot be turned off.</p>
      <Field label="Coming due is told" unit="days ahead">
        {(id) => <input id={id} name="lead" type="number" min={0} max={120} required defaultValue={mail.leadDays} />}
      </Field>
      <Field label="How often" hint="Where the chosen day is closed, the next working day. In between, only urgent mail.">
        {(id) => (
          <select id={id} name="weekday" defaultValue={mail.digestWeekday ?? ''}>
            <option value="">on every working day</option>
            {WEEKDAYS.map((name, index) => (
              <option key={name} value={index + 1}>
                once a week, on {name}
              </option>
            ))}
          </select>
        )}
      </Field>
      <Field label="Not before" hint="By the warehouse’s clocks. Empty, or outside its working hours: as they begin.">
        {(id) => <input id={id} name="time" type="time" defaultValue={mail.digestTime ?? ''} />}
      </Field>
      <div className="row">
        <Field label="Quiet from">{(id) => <input id={id} name="quietFrom" type="time" defaultValue={mail.quiet?.from ?? ''} />}</Field>
        <Field label="to">{(id) => <input id={id} name="quietTo" type="time" defaultValue={mail.quiet?.to ?? ''} />}</Field>
      </div>
      <p className="hint soft">
        Where quiet hours would leave nothing of a working day, they do not hold that day: no reminder falls away.
      </p>
      <Field label="Language of the mails">
        {(id) => (
          <select id={id} name="language" defaultValue={mail.language.startsWith('de') ? 'de' : 'en'}>
            <option value="en">English</option>
            <option value="de">Deutsch</option>
          </select>
        )}
      </Field>
      <Field label="Lengths in">
        {(id) => (
          <select id={id} name="units" defaultValue={mail.units}>
            <option value="si">millimetres</option>
            <option value="us">inches</option>
          </select>
        )}
      </Field>
      <button className="main">Keep these wishes</button>
      <p role="status">{kept ? 'Kept.' : ''}</p>
    </form>
  )
}

/** The link under a person's name, for those who may open it. */
export function MailLink({ personId }: { personId: string }): ReactNode {
  const me = useMe()
  return mayDecide(me) ? <Link to={`/set-up/people/${personId}/mail`}>Mail</Link> : null
}
