import { afterAll, beforeAll, beforeEach, describe, expect, it, jest } from '@jest/globals'
import { insertMailOrganisation, MAIL_NOW, MAIL_TODAY, type MailOrganisation } from '../../../../tests/support/mail-organisation.js'
import { openTestWorker, type TestWorker } from '../../../../tests/support/worker-parts.js'
import { planChunk, planWarehouse } from './plan-warehouse.js'

// A busy machine takes ten times as long.
jest.setTimeout(60_000)

let worker: TestWorker
let ours: MailOrganisation
let seen: string[][]
let number = 0

const sql = <Row extends Record<string, unknown>>(text: string, values: unknown[] = []) =>
  worker.parts.database.withOrganisationSql(ours.organisationId, (scope) => scope.rows<Row>(text, values as never))
const plan = () => planWarehouse(worker.parts).handle({ v: 1, organisationId: ours.organisationId, warehouseId: ours.warehouseId })
const chunk = (position: number, evidenceVersion = 2) =>
  planChunk(worker.parts).handle({
    v: 1,
    organisationId: ours.organisationId,
    warehouseId: ours.warehouseId,
    plannedFor: MAIL_TODAY,
    evidenceVersion,
    position,
  })
const versions = async () =>
  (await sql<{ planned: number; planned_on: string }>('SELECT planned_version AS planned, planned_on FROM warehouse'))[0]
const chunkJobs = () => worker.queue.jobs.filter(({ name }) => name === 'plan_chunk')

beforeAll(async () => {
  worker = await openTestWorker()
})
afterAll(() => worker.close())
beforeEach(async () => {
  worker.clock.set(MAIL_NOW)
  worker.queue.jobs.length = 0
  seen = []
  worker.parts.runPass = async ({ machineIds }) => {
    seen.push([...machineIds])
    return { summary: '' }
  }
  ours = await insertMailOrganisation(worker.parts.database, `p${++number}`, { machines: 2300 })
})

describe('a pass', () => {
  it('is not begun where nothing changed, and is begun for a new day and for new evidence', async () => {
    expect(await plan()).toBe('nothing changed')
    worker.clock.set(new Date('2026-03-04T00:00:00Z'))
    expect(await plan()).toBe('cut: 3 chunks')
    worker.clock.set(MAIL_NOW)
    await sql('UPDATE warehouse SET evidence_version = 2')
    expect(await plan()).toBe('cut: 3 chunks')
  })

  it('covers each machine once in chunks of at most 1000, and ends with the last chunk, whatever runs twice', async () => {
    await sql('UPDATE warehouse SET evidence_version = 2')
    await Promise.all([plan(), plan(), plan()])
    expect(new Set(chunkJobs().map(({ options }) => options?.key)).size).toBe(3)
    await Promise.all([chunk(0), chunk(0)])
    expect(await chunk(0)).toBe('done already')
    expect(await chunk(2)).toMatch(/^more to do/)
    expect(await versions()).toEqual({ planned: 1, planned_on: MAIL_TODAY })
    expect(await chunk(1)).toMatch(/^pass ended/)
    expect(await versions()).toEqual({ planned: 2, planned_on: MAIL_TODAY })
    const once = new Set(seen.flat())
    expect([once.size, Math.max(...seen.map(({ length }) => length))]).toEqual([2301, 1000])
    expect(worker.queue.jobs.filter(({ name }) => name === 'compose_messages')).toHaveLength(1)
  })

  it('that is under way is finished before a newer one begins, and one that stands still is given up', async () => {
    await sql('UPDATE warehouse SET evidence_version = 2')
    await plan()
    await chunk(0)
    await sql('UPDATE warehouse SET evidence_version = 3')
    expect(await plan()).toBe('a pass is under way: 2 chunks')
    worker.clock.set(new Date(MAIL_NOW.getTime() + 16 * 60_000))
    expect(await plan()).toBe('cut: 3 chunks')
    expect(await chunk(1)).toBe('superseded')
    for (const position of [0, 1, 2]) await chunk(position, 3)
    expect(await versions()).toEqual({ planned: 3, planned_on: MAIL_TODAY })
  })

  it('of a warehouse without machines ends at once', async () => {
    await sql('UPDATE placement SET to_at = now()')
    await sql('UPDATE warehouse SET evidence_version = 2')
    expect(await plan()).toBe('cut')
    expect(await versions()).toEqual({ planned: 2, planned_on: MAIL_TODAY })
  })
})
