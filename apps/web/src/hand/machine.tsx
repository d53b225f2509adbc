/** One machine at the phone, by the code on its label: what counts more than a date first, then where, what is due, what to say of it. */
import { type ReactNode, useState } from 'react'
import { sayDay } from '../ui/format.js'
import { useSettled } from '../ui/settled.js'
import type { HandMe } from './hand.js'
import { serverNow } from '../client/clock.js'
import { CareHere } from './care-here.js'
import { HandHeading } from './heading.js'
import { useKeeping, usePage } from './kept.js'
import { carePath, forecastsPath, machinePath } from './machines-kept.js'
import { Photos } from './photos.js'
import { Place } from './place.js'
import { Away } from './server.js'
import { sayAge } from './age.js'
import { StandsAt } from './stand.js'
import { closingPath, inHandOf, layStoppagesOver, STOPPAGES, stoppageTold } from './stoppage-overlay.js'

interface HandMachine {
  id: string
  labelCode: string
  machineType: { name: string; counterKind: 'none' | 'strips' | 'metres' }
  status: string
  mayOpen: string
  serviceFirm: string
  serviceTelephone: string
  warehouse: { id: string; name: string } | null
  station: { name: string; line: string } | null
  today: string | null
  openStoppage: { id: string; workOrderId?: string | null } | null
  openWorkOrders: { id: string; number: number; state: string; technicianName: string | null }[]
  notices: string[]
}
interface HandDate {
  serviceTaskId: string
  taskName: string
  likelyOn: string | null
  why: string
  lastDoneOn: string | null
}

export function MachinePage({ code, me, scanned }: { code: string; me: HandMe; scanned: boolean }): ReactNode {
  const page = usePage<HandMachine>(machinePath(code))
  if (!page.data)
    return page.error ? (
      <>
        <HandHeading title={code}>{code}</HandHeading>
        <p className="note">{notKnown(page.error)}</p>
        <a className="button" href="#/">
          Another code
        </a>
      </>
    ) : (
      <div className="bone" />
    )
  return <Shown machine={page.data} at={page.at} me={me} scanned={scanned} />
}

function notKnown(error: Error): string {
  return error instanceof Away
    ? 'This machine is not kept on this phone, and there is no network. What you see on the machine counts; try again with the network.'
    : `${error.message} The code may be mistyped, its label replaced by a newer one, or the machine in a warehouse that you do not serve: then ask who does.`
}

function Shown({ machine, at, me, scanned }: { machine: HandMachine; at: string | null; me: HandMe; scanned: boolean }): ReactNode {
  return (
    <>
      <HandHeading title={machine.labelCode}>{machine.labelCode}</HandHeading>
      {machine.notices.map((notice) => (
        <p key={notice} className="note alarmed">
          {notice}
        </p>
      ))}
      <p>
        {machine.machineType.name}. <span className="soft">{sayAge(at)}</span>
      </p>
      <ul className="plain lines">
        {machine.openWorkOrders.map(({ id, number, technicianName }) => (
          <li key={id}>
            <a href={`#/order/${id}`}>
              <strong>Order {number}</strong>
              <span>{technicianName ? `with ${technicianName}` : 'with nobody yet'}</span>
            </a>
          </li>
        ))}
      </ul>
      {machine.warehouse ? <CareHere machineId={machine.id} warehouseId={machine.warehouse.id} /> : null}
      <Place machine={machine} me={me} scanned={scanned} />
      <Stands machine={machine} at={at} />
      {machine.station === null && machine.warehouse !== null ? <StandsAt labelCode={machine.labelCode} /> : null}
      <Runs machine={machine} />
      <Due machine={machine} />
      <Care machine={machine} />
      <Photos machineId={machine.id} />
    </>
  )
}

const WRONG: readonly [string, string][] = [
  ['jammed', 'jammed'],
  ['no_water', 'no water'],
  ['does_not_stick', 'does not stick'],
  ['cuts_badly', 'cuts badly'],
  ['no_feed', 'does not feed'],
  ['dead', 'dead'],
  ['smell_or_smoke', 'smell or smoke'],
  ['unknown', 'not known'],
]

const sayInHand = ({ number, technicianName }: HandMachine['openWorkOrders'][number]): string =>
  `Order ${number} has begun on it${technicianName ? `, with ${technicianName}` : ''}. It is back in use when that order is finished.`

function Stands({ machine, at }: { machine: HandMachine; at: string | null }): ReactNode {
  const keeping = useKeeping()
  const [asking, setAsking] = useState(false)
  const [said, setSaid] = useState('')
  const open = layStoppagesOver(machine, keeping.notIn(at))
  const order = open && inHandOf(open.id, machine)
  const settled = useSettled(`${asking} ${said} ${open === null}`)
  const report = async (failureMode: string): Promise<void> => {
    await keeping.keep({ kind: 'post', path: STOPPAGES, body: stoppageTold(machine.id, failureMode, serverNow()) })
    setAsking(false)
    setSaid(
      failureMode === 'smell_or_smoke'
        ? 'Written down. Unplug only if you can reach the plug safely and dry; otherwise stay away.'
        : 'Written down. Leave it switched off; do not reach in, even when it is still.',
    )
  }
  const works = async (stoppageId: string): Promise<void> => {
    const body = { backInUseAt: serverNow() }
    await keeping.keep({ kind: 'post', path: closingPath(stoppageId), machineId: machine.id, body })
    setSaid('Written down as back in use.')
  }
  return (
    <section className="part" aria-label="Stoppage" {...settled}>
      <p role="status">{said || (order ? sayInHand(order) : open ? 'It was reported as standing still.' : '')}</p>
      {order ? null : open ? (
        <button className="main" onClick={() => void works(open.id)}>
          It works again
        </button>
      ) : asking ? (
        <div className="pair">
          {WRONG.map(([mode, words]) => (
            <button key={mode} onClick={() => void report(mode)}>
              {words}
            </button>
          ))}
        </div>
      ) : (
        <button onClick={() => setAsking(true)} aria-expanded={asking}>
          It stands still: what is wrong?
        </button>
      )}
    </section>
  )
}

const RUNS: readonly [string, string][] = [
  ['all_day', 'all day'],
  ['some_hours', 'some hours'],
  ['seldom', 'seldom'],
  ['dont_know', 'don’t know'],
]

/** The counter where there is one, else one tap a month. */
function Runs({ machine }: { machine: HandMachine }): ReactNode {
  const keeping = useKeeping()
  const [reading, setReading] = useState('')
  const [said, setSaid] = useState('')
  const give = async (facts: Record<string, unknown>): Promise<void> => {
    await keeping.keep({ kind: 'post', path: '/api/v1/evidence', body: { ...facts, id: crypto.randomUUID(), machineId: machine.id } })
    setSaid('Written down.')
  }
  if (said)
    return (
      <p className="part" role="status">
        {said}
      </p>
    )
  if (machine.machineType.counterKind === 'none')
    return (
      <section className="part" aria-label="How much it runs">
        <p>This month it runs</p>
        <div className="pair">
          {RUNS.map(([runs, words]) => (
            <button key={runs} onClick={() => void give({ kind: 'monthly_tap', month: (machine.today ?? '').slice(0, 7), runs })}>
              {words}
            </button>
          ))}
        </div>
      </section>
    )
  return (
    <form
      className="part"
      onSubmit={(event) => {
        event.preventDefault()
        void give({ kind: 'counter_reading', at: serverNow(), value: Number(reading) })
      }}
    >
      <label htmlFor="reading">Counter shows, {machine.machineType.counterKind}</label>
      <div className="beside">
        <input id="reading" inputMode="numeric" value={reading} onChange={(event) => setReading(event.target.value)} autoComplete="off" />
        <button disabled={!/^\d{1,9}$/.test(reading)}>Keep</button>
      </div>
    </form>
  )
}

function Due({ machine }: { machine: HandMachine }): ReactNode {
  const page = usePage<{ items: HandDate[] }>(forecastsPath(machine.id))
  const today = machine.today ?? ''
  const dated = [...(page.data?.items ?? [])]
    .filter(({ likelyOn }) => likelyOn !== null)
    .sort((a, b) => (a.likelyOn ?? '').localeCompare(b.likelyOn ?? ''))
    .slice(0, 6)
  return (
    <section className="part" aria-label="When care falls due">
      <h2>When care falls due</h2>
      {page.data && dated.length === 0 ? (
        <p>No date is known. That says nothing of the machine; a tag on it counts more than this screen.</p>
      ) : null}
      {!page.data && page.error ? <p className="note">{page.error.message}</p> : null}
      <ul className="plain sentences">
        {dated.map(({ serviceTaskId, taskName, likelyOn, why, lastDoneOn }) => (
          <li key={serviceTaskId}>
            <strong>
              {likelyOn !== null && likelyOn < today ? 'since ' : ''}
              {sayDay(likelyOn, today)}
            </strong>
            : {taskName}, last done {lastDoneOn ? sayDay(lastDoneOn, today) : 'on a day not known'}.
            <details className="small">
              <summary>Why?</summary>
              {why}
            </details>
          </li>
        ))}
      </ul>
    </section>
  )
}

const LAST_CARE = 4

function Care({ machine }: { machine: HandMachine }): ReactNode {
  const page = usePage<{ items: { id: string; taskName: string; doneOn: string; personName: string }[] }>(carePath(machine.id))
  if (!page.data) return page.error ? <p className="note">{page.error.message}</p> : <div className="bone" />
  const last = page.data.items.slice(0, LAST_CARE)
  return (
    <section className="part" aria-label="Last care">
      <h2>Last care</h2>
      {last.length === 0 ? <p>We don’t know of any.</p> : null}
      <ul className="plain sentences">
        {last.map(({ id, taskName, doneOn, personName }) => (
          <li key={id}>
            {sayDay(doneOn, machine.today ?? '')}: {taskName}
            {personName ? `, ${personName}` : ''}.
          </li>
        ))}
      </ul>
    </section>
  )
}
