/** Who changed what, when, from what to what: of the whole organisation, or of one machine with all that belongs to it. */
import { type ReactNode, useState } from 'react'
import { Link } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayInstant } from '../ui/format.js'
import { More, useLongList } from '../ui/long-list.js'
import { Bones, Fault, Field, Heading } from '../ui/parts.js'
import { differences } from './history-words.js'
import { useMe } from './me.js'

type Entry = Answer<'listAudit'>['items'][number]
const KINDS = [
  'machine',
  'occurrence',
  'work order',
  'stoppage',
  'evidence',
  'service plan',
  'machine type',
  'part',
  'warehouse',
  'station',
  'visit',
  'person',
  'import',
  'session',
]

const useHistory = (of: { machineId?: string; subjectKind?: string }, enabled = true) =>
  useLongList(['history', of], (from) => call('listAudit', { query: { ...of, limit: 50, ...from } }), enabled)

export function HistoryPage(): ReactNode {
  const me = useMe()
  const [kind, setKind] = useState('')
  const list = useHistory(kind === '' ? {} : { subjectKind: kind })
  const zone = me.warehouses[0]?.zone ?? 'UTC'
  return (
    <>
      <Heading title="Who changed what">Who changed what</Heading>
      <p>Every change with its person, newest first. No entry can be altered or taken away; who is anonymised loses the name in it.</p>
      <Field label="About">
        {(id) => (
          <select id={id} value={kind} onChange={(event) => setKind(event.target.value)}>
            <option value="">everything</option>
            {KINDS.map((one) => (
              <option key={one} value={one}>
                {one === 'occurrence' ? 'a due date' : one === 'session' ? 'signing in' : one}
              </option>
            ))}
          </select>
        )}
      </Field>
      <Entries list={list} zone={zone} />
      {me.warehouses.length > 1 ? <p className="soft small">Times as in {me.warehouses[0]?.name}.</p> : null}
    </>
  )
}

/** At the end of a machine's page; read only when somebody opens it. */
export function Changes({ machineId, zone }: { machineId: string; zone: string }): ReactNode {
  const [open, setOpen] = useState(false)
  const list = useHistory({ machineId }, open)
  return (
    <details className="no-print" open={open} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>Who changed what …</summary>
      {open ? <Entries list={list} zone={zone} /> : null}
    </details>
  )
}

function Entries({ list, zone }: { list: ReturnType<typeof useHistory>; zone: string }): ReactNode {
  return (
    <>
      {list.isPending ? <Bones lines={4} /> : null}
      {list.error ? <Fault error={list.error} again={() => void list.refetch()} /> : null}
      {list.data && list.items.length === 0 ? <p className="soft">Nothing was changed yet.</p> : null}
      <ul className="plain sentences">
        {list.items.map((entry) => (
          <One key={entry.id} entry={entry} zone={zone} />
        ))}
      </ul>
      <More list={list} words="Older ones" />
    </>
  )
}

const PAGE_OF: Readonly<Record<string, string>> = {
  machine: '/machines/',
  'work order': '/work/',
  visit: '/visits/',
  stoppage: '/stoppages/',
  warehouse: '/set-up/warehouses/',
  import: '/imports/',
}

function Subject({ entry: { subjectKind, subjectId, subjectName } }: { entry: Entry }): ReactNode {
  const page = PAGE_OF[subjectKind]
  if (subjectName === null) return null
  return page === undefined ? subjectName : <Link to={`${page}${subjectId}`}>{subjectName}</Link>
}

const SHOWN = 4

function One({ entry, zone }: { entry: Entry; zone: string }): ReactNode {
  const said = differences(entry.before, entry.after)
  return (
    <li>
      {sayInstant(entry.at, zone)}, {entry.actor}: {entry.action}
      {entry.action.includes(entry.subjectKind) ? '' : `, ${entry.subjectKind === 'occurrence' ? 'due date' : entry.subjectKind}`}{' '}
      <Subject entry={entry} />
      {said.length > 0 ? (
        <span className="soft">
          {' – '}
          {said.slice(0, SHOWN).join('; ')}
          {said.length > SHOWN ? `; and ${said.length - SHOWN} more` : ''}
        </span>
      ) : null}
    </li>
  )
}
