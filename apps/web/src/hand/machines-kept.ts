/** The machines of one's warehouses on the phone, so that a scan opens the right page without a network. */
import { type HandStore, keepPages, keptPage } from './outbox.js'
import { ask } from './server.js'

interface KeptMachine {
  id: string
  labelCode: string
  labelToken: string | null
  warehouse: { id: string } | null
  dates: unknown[]
  care: unknown[]
}
/** By label code and by a printed label's code, both in capitals. */
type Index = { codes: Record<string, string>; labels?: Record<string, string>; count: number }

const INDEX = 'machines kept'
const FRESH_MS = 10 * 60_000
/** Of a page of the api, and a limit for the phone: more machines than one person serves. */
const PAGE = 200
const MOST = 5_000

export const machinePath = (code: string): string => `/api/v1/machine-labels/${encodeURIComponent(code)}`
export const forecastsPath = (machineId: string): string => `/api/v1/machines/${machineId}/forecasts`
export const carePath = (machineId: string): string => `/api/v1/machines/${machineId}/service-records`
export const stationsPath = (warehouseId: string): string => `/api/v1/stations?warehouseId=${warehouseId}&limit=200`

/** Brings every machine, its dates and last care in a few requests; nothing where they are fresh. @throws Away without a network */
export async function bringMachines(store: HandStore, warehouseIds: readonly string[], now = Date.now()): Promise<void> {
  const before = await keptPage<Index>(store, INDEX)
  if (before && now - Date.parse(before.at) < FRESH_MS) return
  const labels: Record<string, string> = {}
  const index: Index = { codes: {}, labels, count: 0 }
  let cursor: string | null = ''
  while (cursor !== null && index.count < MOST) {
    const from: string = cursor === '' ? '' : `&cursor=${encodeURIComponent(cursor)}`
    const page: { items: KeptMachine[]; nextCursor: string | null } = await ask('GET', `/api/v1/on-site-machines?limit=${PAGE}${from}`)
    const at = new Date(now).toISOString()
    await keepPages(
      store,
      page.items.flatMap((machine) => [
        { key: machinePath(machine.labelCode), at, data: machine },
        { key: forecastsPath(machine.id), at, data: { items: machine.dates } },
        { key: carePath(machine.id), at, data: { items: machine.care } },
      ]),
    )
    for (const { id, labelCode, labelToken } of page.items) {
      labels[id] = labelCode
      index.codes[labelCode.toUpperCase()] = labelCode
      if (labelToken) index.codes[labelToken] = labelCode
    }
    index.count += page.items.length
    cursor = page.nextCursor
  }
  for (const id of warehouseIds) {
    const path = stationsPath(id)
    await keepPages(store, [{ key: path, at: new Date(now).toISOString(), data: await ask('GET', path) }])
  }
  await keepPages(store, [{ key: INDEX, at: new Date(now).toISOString(), data: index }])
}

/** @returns the label code that this scan means; what was scanned, where the phone does not know it */
export async function labelCodeOf(store: HandStore, scanned: string): Promise<string> {
  const index = await keptPage<Index>(store, INDEX)
  return index?.data.codes[scanned.toUpperCase()] ?? scanned
}

export async function labelOfMachine(store: HandStore, machineId: string): Promise<string | null> {
  return (await keptPage<Index>(store, INDEX))?.data.labels?.[machineId] ?? null
}

export async function machinesKept(store: HandStore): Promise<{ count: number; at: string } | null> {
  const index = await keptPage<Index>(store, INDEX)
  return index && { count: index.data.count, at: index.at }
}
