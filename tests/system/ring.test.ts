/**
 * The ring once, from evidence of use to a better date, by the real processes on PostgreSQL with each queue backend,
 * with a clock that stands on Monday 2 March 2026, 10:00 in Berlin. Every figure is worked out by hand beside it.
 *
 * One warehouse, Monday to Friday 06:00–14:00; one machine with a strip counter, commissioned 9 September 2025.
 *   Use: 10 000 on Mon 2 Feb 06:00, 26 000 on Mon 2 Mar 06:00: 16 000 strips on 20 working days, so 800 each.
 *   Chain, 6 months from 9 Sep 2025: point Mon 9 Mar 2026, 181 days; window ± 18 days, 19 Feb to 27 Mar;
 *     hard limit 9 Sep + 226 days = 23 Apr. It opens on 2 Mar, as 9 Mar ≤ 2 Mar + 7.
 *     Done on 2 Mar, inside the window: the next point counts from the nominal one, 9 Sep 2026.
 *   Interlock, the same interval, but a safety check: no late side, so window to 9 Mar, do not use from 10 Mar.
 *   Moistener brushes, calendar month or 20 000 strips: looked at on 2 Feb, at whose end 800 were cut, so 15 200 used and
 *     4 800 left at 800 a working day: 6 working days, Mon 9 Mar; one working day more at most, the median of a skewed sum.
 *   Felt: oiled on 3 Feb, so March is open from Mon 2 March, the month's first working day, until Tue 31 March.
 */
import { describe, expect, it } from '@jest/globals'
import { randomUUID } from 'node:crypto'
import { type Client, clientOf, startSystem, startSystemIn, type Started, until, workThrough } from './support/running.js'
import { hasRedis, startRedis } from './support/redis.js'

const CLOCK = '2026-03-02T09:00:00Z'
const at = (): string => CLOCK

async function register(admin: Client): Promise<{ warehouseId: string; machineId: string }> {
  const people = await admin.get('/api/v1/people?limit=200')
  const idOf = (name: string): string => people.items.find((person: any) => person.name === name).id
  const warehouse = await admin.post('/api/v1/warehouses', {
    name: 'Ring hall',
    zone: 'Europe/Berlin',
    firstPersonId: idOf('Maren Tolk'),
    secondPersonId: idOf('Henrik Osei'),
    shifts: [1, 2, 3, 4, 5].map((weekday) => ({ weekday, starts: '06:00', ends: '14:00' })),
  })
  const everyone = people.items.map((person: any) => person.id)
  await admin.must('PUT', `/api/v1/warehouses/${warehouse.id}/people`, { personIds: everyone })
  const station = await admin.post('/api/v1/stations', {
    warehouseId: warehouse.id,
    name: 'R01',
    line: 'R',
    walkingOrder: 1,
    stripsPerCarton: 2,
  })
  const type = await admin.post('/api/v1/machine-types', {
    name: 'Ring type',
    drive: 'electric',
    supply: 'cord_and_plug',
    heater: true,
    shortestStripMm: 150,
    longestStripMm: 1100,
    lengthKeysMm: [150, 450, 1100],
    meanStripMm: 500,
    feedSpeedMPerMin: 60,
    startUpSecondsPerStrip: 0.25,
    mostStripsPerMinute: 40,
    counterKind: 'strips',
    counterModulus: 1_000_000,
    usualStripsPerDay: 800,
    stripToleranceMm: 10,
  })
  const machine = await admin.post('/api/v1/machines', {
    serialNumber: 'RING-1',
    labelCode: 'RING-1',
    machineTypeId: type.id,
    commissionedOn: '2025-09-09',
    placement: { warehouseId: warehouse.id, stationId: station.id, fromAt: '2025-09-09T06:00:00Z' },
    lastDone: [
      { taskKey: 'oil_blade_felt', doneOn: '2026-02-03' },
      { taskKey: 'look_at_moistener_brushes', doneOn: '2026-02-02' },
    ],
  })
  return { warehouseId: warehouse.id, machineId: machine.id }
}

async function giveUse(admin: Client, machineId: string, warehouseId: string): Promise<void> {
  const reading = (time: string, value: number): object => ({ kind: 'counter_reading', id: randomUUID(), machineId, at: time, value })
  expect(await admin.post('/api/v1/evidence', reading('2026-02-02T05:00:00Z', 10_000))).toMatchObject({ outcome: 'counted' })
  expect(await admin.post('/api/v1/evidence', reading('2026-03-02T05:00:00Z', 26_000))).toMatchObject({ outcome: 'counted' })
  expect(await admin.post('/api/v1/evidence', reading('2026-03-04T05:00:00Z', 27_000))).toMatchObject({ outcome: 'set_aside' })
  await until('the planning pass', 60, async () => (await admin.get(`/api/v1/warehouses/${warehouseId}`)).upToDate)
}

async function checkDates(admin: Client, machineId: string): Promise<Map<string, any>> {
  const usage = await admin.get(`/api/v1/machines/${machineId}/usage?from=2026-02-01&to=2026-03-02`)
  const worked = usage.days.filter(({ strips }: any) => strips > 0)
  expect(worked).toHaveLength(20)
  for (const { strips, metres } of worked) {
    expect(strips).toBeCloseTo(800, 6)
    expect(metres).toBeCloseTo(400, 6)
  }
  expect(usage.stripsTotal).toBeCloseTo(16_000, 6)
  const { items } = await admin.get(`/api/v1/machines/${machineId}/forecasts`)
  const byKey = new Map<string, any>(items.map((item: any) => [item.taskKey, item]))
  expect(byKey.size).toBe(16)
  expect(byKey.get('check_chain_and_fastenings') ?? byKey.get('check_chain')).toMatchObject({
    state: 'dated',
    earlyOn: '2026-03-09',
    likelyOn: '2026-03-09',
    lateOn: '2026-03-09',
    governingTrigger: 'calendar',
  })
  const look = byKey.get('look_at_moistener_brushes')
  expect(look).toMatchObject({ governingTrigger: 'usage', basis: { used: 15_200, amount: 20_000, perDay: 800 } })
  expect(['2026-03-09', '2026-03-10']).toContain(look.likelyOn)
  expect(look.earlyOn <= look.likelyOn && look.likelyOn <= look.lateOn).toBe(true)
  return byKey
}

async function checkOpened(admin: Client, machineId: string, byKey: Map<string, any>): Promise<any> {
  const { items } = await admin.get(`/api/v1/occurrences?machineId=${machineId}&state=open&limit=200`)
  const of = (taskId: string): any => items.find((item: any) => item.serviceTaskId === taskId)
  const chain = byKey.get('check_chain_and_fastenings') ?? byKey.get('check_chain')
  expect(of(chain.serviceTaskId)).toMatchObject({
    sequence: 1,
    kind: 'regular',
    openedOn: '2026-03-02',
    nominalOn: '2026-03-09',
    windowFrom: '2026-02-19',
    windowTo: '2026-03-27',
    hardLimitOn: '2026-04-23',
    dueOn: '2026-03-09',
    lateFrom: '2026-03-28',
    late: false,
  })
  const interlock = [...byKey.values()].find(({ taskKey }) => taskKey.startsWith('check_interlock'))
  expect(of(interlock.serviceTaskId)).toMatchObject({
    safetyCheck: true,
    nominalOn: '2026-03-09',
    windowTo: '2026-03-09',
    lateFrom: '2026-03-10',
    doNotUse: false,
  })
  expect(of(byKey.get('oil_blade_felt').serviceTaskId)).toMatchObject({
    kind: 'monthly',
    dueOn: '2026-03-31',
    lateFrom: null,
    hardLimitOn: null,
  })
  return of(chain.serviceTaskId)
}

async function checkMail(started: Started): Promise<void> {
  const toManager = await until('the digest to the first person', 60, async () => {
    const list = (await (await fetch(new URL('/messages', started.urls.mailbox))).json()) as any[]
    const found = list.filter(({ to }) => String(to).includes('maren.tolk'))
    return found.length > 0 ? found : null
  })
  expect(toManager).toHaveLength(1)
  const [mail] = toManager
  expect(mail.subject).toContain('Ring hall')
  expect(mail.headers['auto-submitted']).toBe('auto-generated')
  const raw = await (await fetch(new URL(`/mails/${mail.id}/raw`, started.urls.mailbox))).text()
  expect(mail.text).toContain('RING-1')
  expect(mail.text).toMatch(/hand\.html#round=/)
  expect(raw).toContain('text/calendar')
}

async function workChain(started: Started, manager: Client, machineId: string, chain: any): Promise<void> {
  const technician = await clientOf(started)
  const me: any = await technician.signIn(started.signIns.find(({ role }) => role === 'technician')!)
  const orders = await manager.all(`/api/v1/work-orders?machineId=${machineId}`)
  expect(orders).toHaveLength(1)
  expect(orders[0]).toMatchObject({ number: 1, state: 'drafted' })
  const before = await technician.ask('POST', `/api/v1/work-orders/${orders[0].id}/entries`, {
    kind: 'finish',
    id: randomUUID(),
    madeAt: at(),
    minutesWorked: 5,
  })
  expect(before.status).toBeGreaterThanOrEqual(400)
  await manager.post(`/api/v1/work-orders/${orders[0].id}/issue`, { technicianId: me.person.id })
  const sheet = await workThrough(technician, orders[0], { at, measure: ({ planLimit }: any) => (planLimit ?? 9) + 2 })
  expect(sheet.state).toBe('done')
  expect(sheet.tasks.every(({ outcome }: any) => outcome === 'done')).toBe(true)
  expect(sheet.tasks.map(({ occurrenceId }: any) => occurrenceId)).toContain(chain.id)
  await manager.post(`/api/v1/work-orders/${orders[0].id}/look-over`, {})
}

async function walkRound(manager: Client, warehouseId: string, machineId: string): Promise<void> {
  const query = `/api/v1/rounds?warehouseId=${warehouseId}`
  const round = await manager.get(query)
  expect(round.lines).toHaveLength(1)
  expect(round.lines[0]).toMatchObject({ machineId, answer: null })
  await manager.post('/api/v1/rounds/acknowledgements', {
    entryId: randomUUID(),
    warehouseId,
    month: '2026-03',
    statement: round.acknowledgement,
  })
  const answer = { warehouseId, month: '2026-03', entryId: randomUUID(), machineId, outcome: 'done', madeAt: at() }
  expect(await manager.post('/api/v1/rounds/answers', answer)).toMatchObject({ outcome: 'applied' })
  expect(await manager.post('/api/v1/rounds/answers', answer)).toMatchObject({ outcome: 'already' })
  expect(await manager.get(query)).toMatchObject({ doneCount: 1, openCount: 0 })
}

async function turn(queueUrl: string | null): Promise<void> {
  const options = { demo: 'empty' as const, queueUrl, extraEnv: { CLOCK_AT: CLOCK } }
  let started = await startSystem(options)
  try {
    const admin = await clientOf(started)
    await admin.signIn(started.signIns.find(({ role }) => role === 'administrator')!)
    const { warehouseId, machineId } = await register(admin)
    await giveUse(admin, machineId, warehouseId)
    const byKey = await checkDates(admin, machineId)
    const chain = await checkOpened(admin, machineId, byKey)
    await checkMail(started)
    await workChain(started, admin, machineId, chain)
    await walkRound(admin, warehouseId, machineId)
    await until('the next pass', 60, async () => (await admin.get(`/api/v1/warehouses/${warehouseId}`)).upToDate)
    const after = (await admin.get(`/api/v1/machines/${machineId}/forecasts`)).items
    const next = after.find(({ serviceTaskId }: any) => serviceTaskId === chain.serviceTaskId)
    expect(next).toMatchObject({ likelyOn: '2026-09-09', lastDoneOn: '2026-03-02' })
    expect(next.why).toMatch(/9 Sep/)
    const felt = after.find(({ taskKey }: any) => taskKey === 'oil_blade_felt')
    expect(felt.likelyOn).toBe('2026-04-30')
    const review = await admin.get('/api/v1/review?from=2026-02-01&to=2026-03-02')
    expect(review.totals.machines).toBe(1)

    // Started again, nothing is planned, said or drafted a second time.
    const mails = ((await (await fetch(new URL('/messages', started.urls.mailbox))).json()) as any[]).length
    await started.stop(true)
    started = await startSystemIn(started.dataDir, options)
    const again = await clientOf(started)
    await again.signIn(started.signIns.find(({ role }) => role === 'administrator')!)
    await new Promise((later) => setTimeout(later, 4000))
    expect((await again.get(`/api/v1/machines/${machineId}/forecasts`)).items).toEqual(after)
    expect((await again.all(`/api/v1/work-orders?machineId=${machineId}`)).length).toBe(1)
    expect(((await (await fetch(new URL('/messages', started.urls.mailbox))).json()) as any[]).length).toBe(mails)
  } finally {
    await started.stop()
  }
}

describe('the ring turns once, end to end', () => {
  it('with PostgreSQL as the queue', () => turn(null), 240_000)

  const redisTest = hasRedis ? it : it.skip
  redisTest(
    'with Redis as the queue',
    async () => {
      const redis = await startRedis()
      try {
        await turn(redis.url)
      } finally {
        await redis.stop()
      }
    },
    240_000,
  )
})
