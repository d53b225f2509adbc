/** A visit planned anew, or planned otherwise over what somebody else may have changed meanwhile; then its orders are issued. */
import { useQuery, useQueryClient } from '@tanstack/react-query'
import { type ReactNode, useRef, useState } from 'react'
import { useLocation, useNavigate } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { readPages } from '../client/pages.js'
import { ApiProblem, InWords } from '../client/problems.js'
import { sayDay, sayList } from '../ui/format.js'
import { Bones, Fault } from '../ui/parts.js'
import { forgetTyped } from './ask-before-leaving.js'
import { RecordFault, useRecordChange, useUntouched, type Words } from './record-change.js'
import { useTechnicians } from './use-technicians.js'
import { byWalk, type OrderLine, ORDERS_OPEN } from './visit-day.js'
import { type Planned, VisitFields } from './visit-form.js'

type Visit = Answer<'getVisit'>
interface Place {
  id: string
  today: string
}

/** Taken along to the page of the visit. */
interface AfterSaving {
  refused: string[]
}

/** What could not be issued when the visit was saved. */
export function NotIssued(): ReactNode {
  const refused = (useLocation().state as AfterSaving | null)?.refused ?? []
  if (refused.length === 0) return null
  return (
    <div className="note alarmed" role="alert">
      <p>The visit is saved. These could not be issued:</p>
      <ul>
        {refused.map((words) => (
          <li key={words}>{words}</li>
        ))}
      </ul>
    </div>
  )
}

export function VisitForm({ warehouse, visit }: { warehouse: Place; visit: Visit | null }): ReactNode {
  const orders = useQuery({
    queryKey: ['work-orders', 'for-visit', warehouse.id],
    queryFn: () =>
      readPages((from) => call('listWorkOrders', { query: { warehouseId: warehouse.id, state: ORDERS_OPEN, limit: 200, ...from } })),
  })
  if (orders.isPending) return <Bones lines={10} />
  if (orders.error) return <Fault error={orders.error} again={() => void orders.refetch()} />
  const sorted = [...orders.data].sort(byWalk)
  return visit ? <Existing warehouse={warehouse} visit={visit} orders={sorted} /> : <New warehouse={warehouse} orders={sorted} />
}

/** One after the other, so that one refusal stops no other. @returns what could not be issued, in words */
async function issueAll(orders: readonly OrderLine[], technicianId: string): Promise<string[]> {
  const problems: string[] = []
  for (const { id, number, state, machine } of orders) {
    if (state !== 'drafted' && state !== 'returned') continue
    try {
      await call('issueWorkOrder', { params: { workOrderId: id }, body: { technicianId } })
    } catch (problem) {
      if (!(problem instanceof ApiProblem || problem instanceof InWords)) throw problem
      problems.push(`Order ${number}, ${machine.labelCode}: ${problem.message}`)
    }
  }
  return problems
}

function useAfterSaving(): (saved: Visit, issue: boolean, to: string) => Promise<void> {
  const queries = useQueryClient()
  const navigate = useNavigate()
  return async (saved, issue, to) => {
    const problems = issue && saved.technician ? await issueAll(saved.workOrders, saved.technician.id) : []
    await queries.invalidateQueries()
    // All that was typed is in the visit, also where an order of it was not issued.
    forgetTyped()
    // The visit stands: going on from its own page, nobody saves a second one beside it.
    if (problems.length > 0) await navigate(`/visits/${saved.id}`, { replace: true, state: { refused: problems } satisfies AfterSaving })
    else await navigate(to)
  }
}

function New({ warehouse, orders }: { warehouse: Place; orders: OrderLine[] }): ReactNode {
  const after = useAfterSaving()
  const [error, setError] = useState<unknown>(null)
  const [busy, setBusy] = useState(false)
  const save = async (typed: Planned, issue: boolean): Promise<void> => {
    const saved = await call('createVisit', { body: { ...typed, warehouseId: warehouse.id } })
    await after(saved, issue, `/visits/${saved.id}`)
  }
  const act = (typed: Planned, issue: boolean): void => {
    setBusy(true)
    setError(null)
    save(typed, issue)
      .catch(setError)
      .finally(() => setBusy(false))
  }
  return (
    <VisitFields
      warehouse={warehouse}
      visitId={null}
      planned={{ visitOn: warehouse.today, technicianId: null, note: '', workOrderIds: [] }}
      orders={orders}
      finished={[]}
      fault={error ? <Fault error={error} /> : null}
      busy={busy}
      onSave={act}
    />
  )
}

interface OfOne {
  warehouse: Place
  visit: Visit
  orders: OrderLine[]
}

function Existing(of: OfOne): ReactNode {
  const { key, touch, follow } = useUntouched(String(of.visit.version))
  /** Of what follows once the visit is kept, and its form begins anew. */
  const [fault, setFault] = useState<unknown>(null)
  return (
    <>
      {fault ? <Fault error={fault} /> : null}
      <Change key={key} {...of} onTouch={touch} onKept={follow} onFault={setFault} />
    </>
  )
}

const OPEN = new Set(ORDERS_OPEN.split(','))
const plannedOf = ({ visitOn, technician, note, workOrders, version }: Visit): Planned & { version: number } => ({
  visitOn,
  technicianId: technician?.id ?? null,
  note,
  workOrderIds: workOrders
    .filter(({ state }) => OPEN.has(state))
    .map(({ id }) => id)
    .toSorted(),
  version,
})

function Change({
  warehouse,
  visit,
  orders,
  onTouch,
  onKept,
  onFault,
}: OfOne & { onTouch: () => void; onKept: () => void; onFault: (fault: unknown) => void }): ReactNode {
  const after = useAfterSaving()
  const { technicians } = useTechnicians(warehouse.id)
  const params = { visitId: visit.id }
  const saved = useRef<Visit | null>(null)
  const issue = useRef(false)
  const [saving, setSaving] = useState(false)
  const finish = async (): Promise<void> => {
    const stands = saved.current ?? (await call('getVisit', { params }))
    await after(stands, issue.current, `/visits?warehouseId=${warehouse.id}`)
  }
  const { opened, now, error, keep } = useRecordChange<Planned>({
    record: plannedOf(visit),
    read: async () => plannedOf(await call('getVisit', { params })),
    send: async (body) => {
      saved.current = await call('patchVisit', { params, body })
    },
    onEnd: () =>
      void finish()
        .catch(onFault)
        .finally(() => {
          setSaving(false)
          onKept()
        }),
  })
  const words: Words<Planned> = {
    visitOn: ['The day', (day) => sayDay(day, warehouse.today)],
    technicianId: ['The technician', (id) => (id === null ? 'nobody' : (technicians?.find((one) => one.id === id)?.name ?? 'somebody'))],
    note: ['The note', (note) => (note === '' ? 'empty' : `‘${note}’`)],
    workOrderIds: ['What is to be done', (ids) => sayOrders(ids, orders)],
  }
  return (
    <VisitFields
      warehouse={warehouse}
      visitId={visit.id}
      planned={opened}
      orders={orders}
      finished={visit.workOrders.filter(({ id }) => !orders.some((order) => order.id === id))}
      fault={<RecordFault error={error} opened={opened} now={now} words={words} keep="Saving" />}
      busy={saving && !error}
      onTouch={onTouch}
      onSave={(typed, issues) => {
        onFault(null)
        saved.current = null
        issue.current = issues
        setSaving(true)
        keep(typed)
      }}
    />
  )
}

function sayOrders(ids: readonly string[], orders: readonly OrderLine[]): string {
  const known = orders.filter(({ id }) => ids.includes(id)).map(({ number, machine }) => `order ${number} on ${machine.labelCode}`)
  if (known.length === ids.length) return ids.length === 0 ? 'nothing' : sayList(known)
  return sayList([...known, `${ids.length - known.length} more`])
}
