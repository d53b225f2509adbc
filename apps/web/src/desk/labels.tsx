/** Labels to print: of a warehouse, a line or one machine, on sheets or from a roll. */
import { useInfiniteQuery } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useEffect, useState } from 'react'
import { useSearchParams } from 'react-router'
import { call } from '../client/api.js'
import { sayCount } from '../ui/format.js'
import { Bones, Fault, Field, Heading } from '../ui/parts.js'
import { saveFile } from '../ui/save-file.js'
import { useMe } from './me.js'
import { NoWarehouseYet } from './no-warehouse.js'

const LAYOUTS = {
  a4_3_by_8: 'A4, 3 by 8 labels of 70 × 37 mm',
  a4_2_by_7: 'A4, 2 by 7 labels of 99 × 38 mm',
  letter_3_by_10: 'Letter, 3 by 10 labels of 66.7 × 25.4 mm (2 5/8 × 1 in)',
  letter_2_by_5: 'Letter, 2 by 5 labels of 101.6 × 50.8 mm (4 × 2 in)',
  roll_50_by_25: 'label printer, 50 × 25 mm',
  roll_60_by_40: 'label printer, 60 × 40 mm',
} as const
type Layout = keyof typeof LAYOUTS

export function Labels(): ReactNode {
  const me = useMe()
  const [search, setSearch] = useSearchParams()
  const warehouseId = search.get('warehouseId') ?? me.warehouses[0]?.id ?? ''
  const asked = search.get('search') ?? ''
  const query = { limit: 200, order: 'walking' as const, warehouseId, ...(asked ? { search: asked } : {}) }
  const machines = useInfiniteQuery({
    queryKey: ['machines', 'for-labels', query],
    enabled: warehouseId !== '',
    initialPageParam: '',
    queryFn: ({ pageParam }) => call('listMachines', { query: { ...query, ...(pageParam ? { cursor: pageParam } : {}) } }),
    getNextPageParam: (page) => page.nextCursor,
  })
  const { hasNextPage, fetchNextPage, isFetchingNextPage } = machines
  useEffect(() => {
    if (hasNextPage && !isFetchingNextPage) void fetchNextPage()
  }, [hasNextPage, isFetchingNextPage, fetchNextPage])
  const found = (machines.data?.pages.flatMap(({ items }) => items) ?? []).filter(({ status }) => status !== 'retired')
  return (
    <>
      <Heading title="Labels">Labels</Heading>
      <NoWarehouseYet />
      <p>Each label has a code to scan and the same in plain letters. Stick it where it can be scanned without reaching in.</p>
      <Field label="Warehouse">
        {(id) => (
          <select id={id} value={warehouseId} onChange={(event) => setSearch({ warehouseId: event.target.value })}>
            {me.warehouses.map((hall) => (
              <option key={hall.id} value={hall.id}>
                {hall.name}
              </option>
            ))}
          </select>
        )}
      </Field>
      <Field label="Only label codes with" hint="Empty: all of the warehouse, in walking order.">
        {(id) => <input id={id} defaultValue={asked} onBlur={(event) => setSearch({ warehouseId, search: event.target.value })} />}
      </Field>
      {machines.isPending && warehouseId ? <Bones lines={2} /> : null}
      {machines.error ? <Fault error={machines.error} /> : null}
      {machines.data ? <Print machineIds={found.map(({ id }) => id)} complete={!hasNextPage} /> : null}
    </>
  )
}

function Print({ machineIds, complete }: { machineIds: string[]; complete: boolean }): ReactNode {
  const [error, setError] = useState<unknown>(null)
  const [busy, setBusy] = useState(false)
  if (machineIds.length === 0) return <p className="soft">No machine is registered that fits this.</p>
  const print = (event: FormEvent<HTMLFormElement>): void => {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    setBusy(true)
    setError(null)
    call('printLabels', {
      body: { machineIds, layout: form.get('layout') as Layout, skip: Number(form.get('skip')), fresh: form.get('fresh') === 'on' },
    })
      .then(saveFile, setError)
      .finally(() => setBusy(false))
  }
  return (
    <form onSubmit={print} data-keeps-nothing>
      {error ? <Fault error={error} /> : null}
      <Field label="Paper">
        {(id) => (
          <select id={id} name="layout">
            {Object.entries(LAYOUTS).map(([key, words]) => (
              <option key={key} value={key}>
                {words}
              </option>
            ))}
          </select>
        )}
      </Field>
      <Field label="Labels of the first sheet that are used already">
        {(id) => <input id={id} name="skip" type="number" min={0} max={23} defaultValue={0} required />}
      </Field>
      <label className="box">
        <input type="checkbox" name="fresh" /> The old labels are gone: from now on only the new ones count
      </label>
      <button className="main" disabled={busy || !complete || machineIds.length > 1000}>
        {busy ? 'Drawing …' : `${sayCount(machineIds.length, 'label', 'labels')} as PDF`}
      </button>
    </form>
  )
}
