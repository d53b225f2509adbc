/** Who changed a stoppage, when, from what to what; asked for only when somebody looks. */
import { useQuery } from '@tanstack/react-query'
import { type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { Bones, Fault } from '../ui/parts.js'
import { sayChanges } from './stoppage-changes.js'
import { type One, sayMoment } from './stoppage-words.js'

type Entry = Answer<'listAudit'>['items'][number]
const DID: Readonly<Record<string, string>> = {
  report: 'wrote it down',
  'report again': 'told of it again',
  remark: 'added to its note',
  change: 'put it right',
  close: 'closed it',
}

export function StoppageHistory({ stoppage, today }: { stoppage: One; today: string }): ReactNode {
  const [open, setOpen] = useState(false)
  return (
    <details style={{ marginTop: 24 }} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>Who changed it, and when</summary>
      {open ? <Entries stoppage={stoppage} today={today} /> : null}
    </details>
  )
}

function Entries({ stoppage, today }: { stoppage: One; today: string }): ReactNode {
  const { zone } = stoppage.warehouse
  const entries = useQuery({
    queryKey: ['stoppage', stoppage.id, 'history', stoppage.version],
    queryFn: () => call('listAudit', { query: { subjectKind: 'stoppage', subjectId: stoppage.id, limit: 200 } }),
  })
  if (entries.error) return <Fault error={entries.error} again={() => void entries.refetch()} />
  if (!entries.data) return <Bones lines={2} />
  return (
    <>
      {entries.data.items.length === 0 ? (
        <p className="soft">Nobody changed it by hand: it came with a work order, or with a file.</p>
      ) : null}
      <ul className="plain sentences">
        {entries.data.items.map((entry) => (
          <li key={entry.id}>
            {sayMoment(entry.at, zone, today)}: {entry.actor} {DID[entry.action] ?? entry.action}
            <What entry={entry} zone={zone} today={today} />
          </li>
        ))}
      </ul>
    </>
  )
}

function What({ entry: { before, after }, zone, today }: { entry: Entry; zone: string; today: string }): ReactNode {
  if (!before || !after) return null
  const changes = sayChanges(before, after, zone, today)
  return changes.length === 0 ? null : (
    <ul>
      {changes.map((change) => (
        <li key={change}>{change}</li>
      ))}
    </ul>
  )
}
