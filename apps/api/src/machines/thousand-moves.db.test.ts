/** Rule 2: what a machine has behind it goes with it. A thousand moves through two warehouses, and not a day of any clock is lost. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { runPlanningPass } from '@tapewarden/persistence'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'
import { Work } from '../use/work.js'
import { putElsewhere } from './move.js'

const NOW = '2026-05-04T08:00:00Z'
const MACHINES = 10
const MOVES_EACH = 100
/** Below the connections that the api of a test may have. */
const LANES = 4
let api: TestApi
let us: ApiOrganisation
let machineIds: string[]
let other: string

const sql = (text: string): Promise<Json[]> =>
  api.database.withOrganisationSql(us.organisationId, (scope) => scope.rows(text, [us.organisationId, machineIds]))

/** Everything that a clock rests on, and every date that was made of it. */
async function clocks(): Promise<Record<string, Json[]>> {
  for (const warehouseId of [us.north, other])
    await runPlanningPass(api.database, { organisationId: us.organisationId, warehouseId, today: '2026-05-04', now: new Date(NOW) })
  return {
    dates:
      await sql(`SELECT machine_id, service_task_id, state, early_on, likely_on, late_on, no_later_than, governing_trigger, basis FROM forecast
      WHERE organisation_id = $1 AND machine_id = ANY($2) ORDER BY 1, 2`),
    ledger: await sql(`SELECT machine_id, day, strips, metres, motor_minutes, strips_total, kind FROM ledger_day
      WHERE organisation_id = $1 AND machine_id = ANY($2) ORDER BY 1, 2`),
    care: await sql(
      `SELECT id, machine_id, service_task_id, done_on, anchor_on, settles FROM service_record WHERE organisation_id = $1 AND machine_id = ANY($2) ORDER BY 1`,
    ),
    parts: await sql(`SELECT p.id, p.component_id, p.machine_id, p.from_date, p.to_date, c.new_on FROM component_placement p
      JOIN component c ON c.organisation_id = $1 AND c.id = p.component_id WHERE p.organisation_id = $1 AND p.machine_id = ANY($2) ORDER BY 1`),
    statuses: await sql(
      `SELECT id, machine_id, status, from_at, to_at FROM machine_status_period WHERE organisation_id = $1 AND machine_id = ANY($2) ORDER BY 1`,
    ),
  }
}

beforeAll(async () => {
  api = await startTestApi(NOW)
  us = await makeOrganisation(api, 'north')
  const week = [1, 2, 3, 4, 5].map((weekday) => ({ weekday, starts: '06:00', ends: '14:00' }))
  other = (await us.manager('POST', 'warehouses', { name: 'Other', zone: 'Europe/Berlin', shifts: week })).body.id
  const machines = Array.from({ length: MACHINES }, (_, index) => ({
    serialNumber: `K${index}`,
    labelCode: `K-${index}`,
    machineTypeId: us.machineTypeId,
    commissionedOn: '2026-01-05',
    placement: { warehouseId: us.north, fromAt: '2026-01-05T06:00:00Z' },
    lastDone: [{ taskKey: 'check_chain', doneOn: '2026-03-02' }],
  }))
  machineIds = (await us.manager('POST', 'machines/bulk', { machines })).body.items.map(({ id }: Json) => id)
  const days = Array.from({ length: 100 }, (_, at) => new Date(Date.UTC(2026, 0, 6 + at)).toISOString().slice(0, 10))
  const items = machineIds.flatMap((machineId, index) =>
    days.map((day, at) => ({ kind: 'strips_day', machineId, day, strips: 300 + 10 * index + (at % 7), externalId: `${machineId} ${day}` })),
  )
  const sent = await us.manager('POST', 'evidence/bulk', { source: 'wms', warehouseId: us.north, items })
  expect(sent.body.counted).toBe(MACHINES * days.length)
}, 60_000)
afterAll(() => api.close())

/** Each in the night, when nobody packs: the n-th move of a machine lies in its n-th night since the sixth of January. */
async function moveAll(): Promise<void> {
  const who = {
    organisationId: us.organisationId,
    personId: us.people.manager,
    name: 'manager',
    role: 'manager' as const,
    warehouseIds: null,
    electricallyQualified: false,
    units: 'si' as const,
    sessionId: null,
    roundMonth: null,
  }
  const moveOne = (index: number, machineId: string) =>
    api.app.get(Work).change({ who, now: new Date(NOW), requestId: 'test' }, async (changing) => {
      for (let move = 1; move <= MOVES_EACH; move++) {
        const at = new Date(Date.UTC(2026, 0, 5 + move, 22, index)).toISOString()
        // There, back to a station, to no station; the last leaves it where it began.
        const warehouseId = move % 3 === 1 ? other : us.north
        const stationId = move % 3 === 2 && move < MOVES_EACH ? us.station : null
        await putElsewhere(changing, machineId, {
          warehouseId: move === MOVES_EACH ? us.north : warehouseId,
          stationId,
          shareOfStation: 1,
          at,
        })
      }
    })
  // Some machines move side by side, as people move them; each in the order of its nights.
  const left = [...machineIds.entries()]
  const lane = async (): Promise<void> => {
    for (let next = left.shift(); next; next = left.shift()) await moveOne(...next)
  }
  await Promise.all(Array.from({ length: LANES }, lane))
}

describe('a thousand moves', () => {
  it('keep history and clocks identical, and leave an unbroken chain of places', async () => {
    const before = await clocks()
    expect([before.dates?.length, before.ledger?.length]).toEqual([MACHINES * 5, expect.any(Number)])
    expect(before.dates?.filter(({ likely_on: day }) => day !== null).length).toBeGreaterThan(MACHINES)
    await moveAll()
    const chain = await sql(`SELECT machine_id, from_at, to_at, lead(from_at) OVER (PARTITION BY machine_id ORDER BY from_at) AS next
      FROM placement WHERE organisation_id = $1 AND machine_id = ANY($2) ORDER BY 1, 2`)
    expect(chain).toHaveLength(MACHINES * (MOVES_EACH + 1))
    expect(chain.filter(({ to_at: to, next }) => String(to) !== String(next))).toEqual([])
    expect(await clocks()).toEqual(before)
    const audit = await us.administrator('GET', `audit?subjectKind=machine&subjectId=${machineIds[0]}&limit=200`)
    expect(audit.body.items.filter(({ action }: Json) => action === 'move')).toHaveLength(MOVES_EACH)
  }, 120_000)
})
