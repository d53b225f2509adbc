/**
 * Random histories of phones that are offline, killed and repeated: the pages' own outbox against the real api, judged by a model of the
 * rules. HISTORIES=500 tries as many; a few are tried each time.
 */
import 'fake-indexeddb/auto'
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { CAUTION_ACKNOWLEDGEMENTS } from '@tapewarden/shared'
import { join } from 'node:path'
import { type Ask, type Json, startTestApi, type TestApi } from '../support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../support/api-organisation.js'
import { type Entry, type Outcome, Rules } from '../support/work-rules.js'

const HISTORIES = Number(process.env.HISTORIES ?? 3)
const DEVICES = 3
const OPERATIONS = 20
const MADE_AT = '2026-05-04T07:30:00Z'

/** The pages' own code; it is typed for browsers, so only what is used here is named. */
interface Kept {
  id: string
  refused?: string
}
interface Pages {
  openStore(name: string): Promise<Store>
  keepEntry(store: Store, entry: object): Promise<void>
  entriesToSend(store: Store): Promise<Kept[]>
  readKept(store: Store): Promise<{ entries: Kept[]; refused: Kept[] }>
  sendKept(store: Store, send: (entry: Kept) => Promise<{ outcome: string }>, personId: string): Promise<number>
}
interface Store {
  close(): void
}
interface Sender {
  sendEntry(store: Store, entry: Kept): Promise<{ outcome: string }>
}
let pages: Pages
let sender: Sender
let api: TestApi
let us: ApiOrganisation

const hand = (file: string): string => join(process.cwd(), 'apps/web/src/hand', file)

/** mulberry32: the same histories for the same number. */
function randomFrom(seed: number): () => number {
  let state = seed >>> 0
  return () => {
    state = (state + 0x6d2b79f5) >>> 0
    let mixed = Math.imul(state ^ (state >>> 15), state | 1)
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61)
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32
  }
}

beforeAll(async () => {
  pages = (await import(hand('outbox.ts'))) as Pages
  sender = (await import(hand('server.ts'))) as Sender
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
})
afterAll(() => api.close())

async function newOrder(sequence: number): Promise<Json> {
  const occurrenceId = newId()
  await api.database.withOrganisationSql(us.organisationId, async (scope) => {
    await scope.run(`UPDATE occurrence SET state = 'superseded', ended_on = '2026-05-04' WHERE organisation_id = $1 AND state = 'open'`, [
      us.organisationId,
    ])
    await scope.run(
      `INSERT INTO occurrence (organisation_id, id, machine_id, service_task_id, plan_task_id, warehouse_id, sequence, kind, state, opened_on, nominal_on, window_from, window_to,
         hard_limit_on, due_on, late_from, governing_trigger, created_at)
       SELECT $1, $2, $3, pt.service_task_id, pt.id, $4, $5, 'regular', 'open', '2026-05-01', '2026-05-10', '2026-05-01', '2026-05-20', '2026-06-20', '2026-05-10', '2026-05-21', 'calendar', now()
       FROM plan_task pt JOIN service_task k ON k.organisation_id = pt.organisation_id AND k.id = pt.service_task_id WHERE pt.organisation_id = $1 AND k.key = 'measure_motor_brushes'`,
      [us.organisationId, occurrenceId, us.machineId, us.north, sequence],
    )
  })
  const body = { machineId: us.machineId, occurrenceIds: [occurrenceId], technicianId: us.people.technician, issue: true }
  const order = (await us.manager('POST', 'work-orders', body)).body
  for (const entry of [{ kind: 'accept' }, { kind: 'acknowledge_cautions', statement: CAUTION_ACKNOWLEDGEMENTS.plug }, { kind: 'start' }])
    expect((await us.technician('POST', `work-orders/${order.id}/entries`, { id: newId(), madeAt: MADE_AT, ...entry })).status).toBe(200)
  return order
}

function randomEntry(random: () => number, taskId: string, word: string): Omit<Entry, 'id'> {
  const dice = random()
  if (dice < 0.25) return { kind: 'note', text: word }
  if (dice < 0.4) return { kind: 'finding', text: word }
  if (dice < 0.62) return { kind: 'measure', taskId, measurementKey: 'motor_brush', value: 10 + Math.floor(random() * 3), unit: 'mm' }
  if (dice < 0.78) return { kind: 'answer_step', taskId, stepKey: 'open', answer: true }
  if (dice < 0.86) return { kind: 'task_done', taskId }
  if (dice < 0.92) return { kind: 'acknowledge_cautions', statement: CAUTION_ACKNOWLEDGEMENTS.plug }
  return dice < 0.95 ? { kind: 'wait', waitingFor: 'part' } : { kind: 'resume' }
}

/** What the network and the phone do to one request. */
type Fault = 'none' | 'lost' | 'answer_lost' | 'twice' | 'session_ended' | 'killed'
function faultOf(random: () => number): Fault {
  const dice = random()
  if (dice < 0.1) return 'lost'
  if (dice < 0.2) return 'answer_lost'
  if (dice < 0.28) return 'twice'
  if (dice < 0.34) return 'session_ended'
  return dice < 0.4 ? 'killed' : 'none'
}

class Killed extends Error {}

/** Stands where the browser's fetch stands: the real request, as this person, with faults. */
function network(ask: Ask, random: () => number, rules: Rules, judged: Map<string, Outcome>, told: Map<string, Outcome>): typeof fetch {
  const once = async (path: string, init: RequestInit): Promise<Response> => {
    const body = JSON.parse(String(init.body)) as Entry
    const expected = judged.get(body.id) ?? rules.judge(body)
    judged.set(body.id, expected)
    const headers = Object.fromEntries(Object.entries(init.headers ?? {}).filter(([name]) => name === 'idempotency-key'))
    const reply = await ask('POST', path, body, headers as Record<string, string>)
    const outcome: Outcome = reply.status === 200 ? reply.body.outcome : 'refused'
    expect([body.kind, outcome, reply.body.detail ?? '']).toEqual([body.kind, expected, reply.body.detail ?? ''])
    told.set(body.id, outcome)
    return new Response(JSON.stringify(reply.body), { status: reply.status })
  }
  return (async (path: string, init: RequestInit) => {
    const fault = faultOf(random)
    if (fault === 'lost') throw new TypeError('network')
    if (fault === 'session_ended') return new Response('{}', { status: 401 })
    const answer = await once(path, init)
    if (fault === 'killed') throw new Killed()
    if (fault === 'answer_lost') throw new TypeError('network')
    return fault === 'twice' ? once(path, init) : answer
  }) as typeof fetch
}

async function play(number: number): Promise<{ entries: number; conflicts: number; refused: number }> {
  const random = randomFrom(number)
  const order = await newOrder(number + 1)
  const [{ id: taskId }] = order.tasks
  const rules = new Rules()
  const judged = new Map<string, Outcome>()
  const told = new Map<string, Outcome>()
  const made = new Map<string, Entry>()
  const people = [us.technician, us.manager, us.technician]
  const personIds = [us.people.technician, us.people.manager, us.people.technician]
  const stores = await Promise.all(people.map((_, device) => pages.openStore(`history ${number} device ${device}`)))
  const real = globalThis.fetch

  /** Sends what this device keeps until it is stopped; a kill closes and opens its storage again. */
  const drain = async (device: number): Promise<void> => {
    globalThis.fetch = network(people[device] as Ask, random, rules, judged, told)
    let killed = false
    await pages
      .sendKept(
        stores[device] as Store,
        async (entry) => {
          if (killed) throw new Killed()
          const sent = await sender.sendEntry(stores[device] as Store, entry)
          killed = sent.outcome === 'unreachable' && random() < 0.3
          return sent
        },
        personIds[device] ?? '',
      )
      .catch((error: unknown) => {
        if (!(error instanceof Killed)) throw error
      })
    if (!killed) return
    stores[device]?.close()
    stores[device] = await pages.openStore(`history ${number} device ${device}`)
  }
  try {
    const left = people.map(() => OPERATIONS)
    while (left.some((count) => count > 0)) {
      const device = Math.floor(random() * DEVICES)
      if ((left[device] ?? 0) === 0) continue
      left[device] = (left[device] ?? 0) - 1
      const entry = { id: newId(), madeAt: MADE_AT, ...randomEntry(random, taskId, `word ${number}-${made.size};`) } as Entry
      made.set(entry.id, entry)
      await pages.keepEntry(stores[device] as Store, {
        id: entry.id,
        kind: 'work',
        workOrderId: order.id,
        personId: personIds[device],
        body: entry,
        keptAt: MADE_AT,
      })
      if (random() < 0.2) await drain(Math.floor(random() * DEVICES))
    }
    for (let round = 0; round < 400 && (await waiting(stores)) > 0; round += 1) await drain(round % DEVICES)
  } finally {
    globalThis.fetch = real
  }
  expect(await waiting(stores)).toBe(0)
  await compare(order, stores, made, judged, told)
  for (const store of stores) store.close()
  const outcomes = [...told.values()]
  return {
    entries: made.size,
    conflicts: outcomes.filter((outcome) => outcome === 'conflict').length,
    refused: outcomes.filter((outcome) => outcome === 'refused').length,
  }
}

async function waiting(stores: readonly Store[]): Promise<number> {
  const counts = await Promise.all(stores.map((store) => pages.readKept(store)))
  return counts.reduce((sum, count) => sum + count.entries.length, 0)
}

/** Page by page, as the desk reads them: all that no person has settled yet. */
async function allConflicts(): Promise<Json[]> {
  const all: Json[] = []
  for (let next = ''; ;) {
    const { body } = await us.manager('GET', `work-conflicts?limit=200${next}`)
    all.push(...body.items)
    if (body.nextCursor === null) return all
    next = `&cursor=${body.nextCursor}`
  }
}

/** Nothing lost, each once: an entry is on the server, or on its phone with the refusal; never neither, never both. */
async function compare(
  order: Json,
  stores: readonly Store[],
  made: ReadonlyMap<string, Entry>,
  judged: ReadonlyMap<string, Outcome>,
  told: ReadonlyMap<string, Outcome>,
): Promise<void> {
  const sheet = (await us.manager('GET', `work-orders/${order.id}`)).body
  const onServer = new Map<string, string>(sheet.entries.map(({ id, outcome }: Json) => [id, outcome]))
  const onPhones = (await Promise.all(stores.map((store) => pages.readKept(store)))).flatMap(({ refused }) => refused.map(({ id }) => id))
  expect([...made.keys()].filter((id) => onServer.has(id) === onPhones.includes(id))).toEqual([])
  expect(new Set(onPhones).size).toBe(onPhones.length)
  for (const [id, outcome] of judged) {
    expect(told.get(id)).toBe(outcome)
    expect(onServer.get(id) ?? 'refused').toBe(outcome)
  }
  const applied = [...made.values()].filter(({ id }) => judged.get(id) === 'applied')
  const textsOf = (kind: string): string[] => applied.filter((entry) => entry.kind === kind).map(({ text }) => text ?? '')
  // Free text of all: every note once. (Entries of the order's life hold no note of their own here.)
  for (const text of textsOf('note')) expect(sheet.note.split(text).length).toBe(2)
  const [rows] = await api.database.withOrganisationSql(us.organisationId, (scope) =>
    scope.rows<{ findings: number; measured: number }>(
      `SELECT (SELECT count(*)::int FROM finding f WHERE f.organisation_id = $1 AND f.work_order_id = $2) AS findings,
         (SELECT count(*)::int FROM measurement m WHERE m.organisation_id = $1 AND m.work_order_id = $2) AS measured`,
      [us.organisationId, order.id],
    ),
  )
  expect(rows).toEqual({ findings: textsOf('finding').length, measured: applied.filter(({ kind }) => kind === 'measure').length })
  const shown = (await allConflicts()).filter(({ workOrder }) => workOrder.id === order.id)
  expect(shown.map(({ entryId }: Json) => String(entryId)).sort()).toEqual(
    [...judged]
      .filter(([, outcome]) => outcome === 'conflict')
      .map(([id]) => id)
      .sort(),
  )
}

describe('histories of three phones', () => {
  it(
    `lose nothing, apply each entry once and show every conflict (${HISTORIES} histories, ${DEVICES} × ${OPERATIONS} operations)`,
    async () => {
      const total = { entries: 0, conflicts: 0, refused: 0 }
      for (let number = 0; number < HISTORIES; number += 1) {
        const played = await play(number).catch((error: Error) => {
          throw new Error(`history ${number}: ${error.message}`)
        })
        for (const key of ['entries', 'conflicts', 'refused'] as const) total[key] += played[key]
        if (process.env.HISTORIES && number % 10 === 9) process.stderr.write(`${number + 1} histories: ${JSON.stringify(total)}\n`)
      }
      expect(total.entries).toBe(HISTORIES * DEVICES * OPERATIONS)
      // A run in which nothing ever disagreed would show little.
      expect(total.conflicts).toBeGreaterThan(0)
      expect(total.refused).toBeGreaterThan(0)
    },
    HISTORIES * 30_000,
  )
})
