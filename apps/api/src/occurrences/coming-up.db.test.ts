import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { runPlanningPass } from '@tapewarden/persistence'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
const TODAY = '2026-05-04'
const [MACHINES, WEEKS] = [6, 40]

const comingUp = async (query: string): Promise<Json> => (await us.manager('GET', `coming-up?weeks=${WEEKS}&${query}`)).body
const named = ({ labelCode, taskKey }: Json): string => `${labelCode} ${taskKey}`

beforeAll(async () => {
  api = await startTestApi(`${TODAY}T08:00:00Z`)
  us = await makeOrganisation(api, 'north')
  for (let at = 1; at <= MACHINES; at += 1)
    await us.manager('POST', 'machines', {
      serialNumber: `S-${at}`,
      labelCode: `C-${at}`,
      machineTypeId: us.machineTypeId,
      commissionedOn: '2025-01-10',
      placement: { warehouseId: us.north, stationId: us.station, fromAt: '2026-01-05T06:00:00Z' },
      // Due this week, and later in the year: some open by now, some only foreseen.
      lastDone: [
        { taskKey: 'check_chain', doneOn: at % 2 === 0 ? '2025-11-06' : '2026-03-02' },
        { taskKey: 'measure_motor_brushes', doneOn: '2025-11-10' },
        // A safety check long past its day.
        ...(at === 1 ? [{ taskKey: 'interlock_check', doneOn: '2025-06-02' }] : []),
      ],
    })
  await runPlanningPass(api.database, {
    organisationId: us.organisationId,
    warehouseId: us.north,
    today: TODAY,
    now: new Date(`${TODAY}T08:00:00Z`),
  })
})
afterAll(() => api.close())

describe('the coming weeks', () => {
  it('list each falling-due once: with the day of what is open, with the likely day of what is only foreseen', async () => {
    const { items } = await comingUp('monthly=true&limit=500')
    const names = items.map(named)
    expect(new Set(names).size).toBe(names.length)
    const open = (await us.manager('GET', 'occurrences?state=open&limit=200')).body.items
    const last = items.at(-1).dueOn
    // Counted apart, machine by machine: what the machine's own page foresees and what is open there.
    const expected = new Map<string, string>(open.map((one: Json) => [named(one), one.dueOn]))
    for (const { id, labelCode } of (await us.manager('GET', 'machines?limit=50')).body.items)
      for (const { taskKey, likelyOn } of (await us.manager('GET', `machines/${id}/forecasts`)).body.items)
        if (!expected.has(`${labelCode} ${taskKey}`) && likelyOn !== null) expected.set(`${labelCode} ${taskKey}`, likelyOn)
    const within = [...expected].filter(([, day]) => day <= last)
    expect(new Map(items.map((item: Json) => [named(item), item.dueOn]))).toEqual(new Map(within))
    expect(items.some(({ occurrenceId }: Json) => occurrenceId === null)).toBe(true)
    expect(items.some(({ occurrenceId }: Json) => occurrenceId !== null)).toBe(true)
    for (const item of items) {
      expect(item.why).not.toBe('')
      expect(item.stationName).not.toBeNull()
      const itsOwn = open.find((one: Json) => one.id === item.occurrenceId)
      if (itsOwn)
        expect(item).toMatchObject({ workOrder: itsOwn.workOrder, windowTo: itsOwn.windowTo, late: itsOwn.late, doNotUse: itsOwn.doNotUse })
    }
  })

  it('come in pages by day and label, and count the same whatever the page', async () => {
    const whole = await comingUp('limit=500')
    const days = whole.items.map(({ dueOn, labelCode }: Json) => `${dueOn} ${labelCode}`)
    expect(days).toEqual(days.toSorted((a: string, b: string) => (a < b ? -1 : Number(a > b))))
    const paged: Json[] = []
    for (let cursor = ''; ;) {
      const page = await comingUp(`limit=4${cursor}`)
      expect(page.warehouses).toEqual(whole.warehouses)
      paged.push(...page.items)
      if (page.nextCursor === null) break
      cursor = `&cursor=${encodeURIComponent(page.nextCursor)}`
    }
    expect(paged).toEqual(whole.items)
    const counted = whole.warehouses[0].weeks.reduce((sum: number, { dueCount }: Json) => sum + dueCount, 0)
    expect(counted).toBe(whole.items.length)
    expect(whole.items.filter(({ occurrenceKind }: Json) => occurrenceKind === 'monthly')).toEqual([])
  })

  it('say of each whether the hours of its week hold it, as many as the week says do not fit', async () => {
    const warehouse = (await us.manager('GET', `warehouses/${us.north}`)).body
    expect((await us.manager('PATCH', `warehouses/${us.north}`, { technicianHoursAWeek: 0.5 })).status).toBe(200)
    const whole = await comingUp('limit=500')
    const unfit = whole.items.filter(({ fits }: Json) => !fits)
    const said = whole.warehouses[0].weeks.reduce((sum: number, { doesNotFitCount }: Json) => sum + doesNotFitCount, 0)
    expect(unfit.length).toBe(said)
    expect(unfit.length).toBeGreaterThan(2)
    expect(whole.items.length).toBeGreaterThan(unfit.length)
    // Whatever is looked for: the others' work takes the hours all the same.
    const found = await comingUp('search=C-3&limit=500')
    expect(found.items).toEqual(whole.items.filter(({ labelCode }: Json) => labelCode === 'C-3'))
    expect(found.warehouses).toEqual(whole.warehouses)
    const page = await comingUp('limit=3')
    expect(page.items).toEqual(whole.items.slice(0, 3))
    expect((await comingUp('only=does_not_fit&limit=500')).items).toEqual(unfit)
    const second = `limit=2&cursor=${encodeURIComponent((await comingUp('only=does_not_fit&limit=2')).nextCursor)}`
    expect((await comingUp(`only=does_not_fit&${second}`)).items).toEqual(unfit.slice(2, 4))
    await us.manager('PATCH', `warehouses/${us.north}`, { technicianHoursAWeek: warehouse.technicianHoursAWeek })
  })

  it('are searched by label, and kept to a skill', async () => {
    const found = (await comingUp('search=C-3&limit=500')).items
    expect(new Set(found.map(({ labelCode }: Json) => labelCode))).toEqual(new Set(['C-3']))
    const skilled = (await comingUp('skill=technician&limit=500')).items
    expect(skilled.length).toBeGreaterThan(0)
    expect(skilled.every(({ skill }: Json) => skill === 'technician')).toBe(true)
    const whole = (await comingUp('limit=500')).items
    const chain = (await comingUp('search=CHAIN&limit=500')).items
    expect(chain).toEqual(whole.filter(({ taskName }: Json) => /chain/i.test(taskName)))
    expect(chain.length).toBeGreaterThan(3)
  })

  it('are kept to what a sentence of the first page counts, page after page', async () => {
    await api.database.withOrganisationSql(us.organisationId, (scope) =>
      scope.run(
        `UPDATE occurrence o SET needs_person = true FROM machine m WHERE m.id = o.machine_id AND m.label_code = 'C-2' AND o.state = 'open'`,
      ),
    )
    const whole = (await comingUp('limit=500')).items
    const today = (await comingUp('limit=1')).warehouses[0].today
    const rules: Record<string, (item: Json) => boolean> = {
      late: ({ late }) => late,
      do_not_use: ({ doNotUse }) => doNotUse,
      past_hard_limit: ({ hardLimitOn }) => hardLimitOn !== null && hardLimitOn < today,
      needs_person: ({ needsPerson }) => needsPerson,
    }
    for (const [only, rule] of Object.entries(rules)) {
      const kept = whole.filter(rule)
      expect([only, kept.length > 0]).toEqual([only, true])
      expect([only, (await comingUp(`only=${only}&limit=500`)).items]).toEqual([only, kept])
      const first = await comingUp(`only=${only}&limit=1`)
      expect([first.items, first.nextCursor === null]).toEqual([kept.slice(0, 1), kept.length === 1])
    }
  })
})

describe('this week', () => {
  it('counts what the lists hold', async () => {
    // As if both were small care of the month: counted by the server, apart from the rest.
    await api.database.withOrganisationSql(us.organisationId, (scope) =>
      scope.run(`UPDATE occurrence o SET kind = 'monthly' FROM service_task k, machine m WHERE k.id = o.service_task_id AND m.id = o.machine_id
        AND o.state = 'open' AND ((k.key = 'interlock_check' AND m.label_code = 'C-1') OR (k.key = 'measure_motor_brushes' AND m.label_code BETWEEN 'C-1' AND 'C-4'))`),
    )
    const open: Json[] = (await us.manager('GET', 'occurrences?state=open&limit=200')).body.items
    const [here] = (await us.manager('GET', 'this-week')).body.warehouses
    const said = new Map<string, number>(here.sentences.map(({ kind, count }: Json) => [kind, count]))
    const monthly = open.filter(({ kind }) => kind === 'monthly')
    expect(said.get('monthly_care')).toBe(new Set(monthly.map(({ machineId }) => machineId)).size)
    expect(monthly).toHaveLength(5)
    const doNotUse = open.filter((one) => one.doNotUse)
    expect(doNotUse.map(({ kind }) => kind)).toEqual(['monthly'])
    expect(said.get('do_not_use')).toBe(doNotUse.length)
    expect((await comingUp('only=do_not_use&limit=500')).items.map(named)).toEqual(doNotUse.map(named))
    expect(said.get('late') ?? 0).toBe(open.filter(({ late, kind }) => late && kind !== 'monthly').length)
    const listed = (await us.manager('GET', 'coming-up?weeks=8&limit=500')).body
    const dueCounts = (weeks: Json[]): number[] => weeks.map(({ dueCount }) => dueCount)
    expect(dueCounts(here.weeks)).toEqual(dueCounts(listed.warehouses[0].weeks))
  })
})

describe('the sentence why', () => {
  it('says lengths in the units of whoever reads it', async () => {
    const [{ id }] = (await us.manager('GET', 'machines?limit=1')).body.items
    const basis = { lastLengthMm: null, planLimitMm: 9.5, perDay: 310, kinds: ['counter'] }
    await api.database.withOrganisationSql(us.organisationId, (scope) =>
      scope.run(
        `UPDATE forecast SET state = 'dated', governing_trigger = 'wear', likely_on = '2026-09-01', early_on = '2026-08-01', late_on = '2026-10-01', basis = $3
         WHERE organisation_id = $1 AND machine_id = $2
           AND service_task_id IN (SELECT k.id FROM service_task k WHERE k.organisation_id = $1 AND k.key = 'replace_motor_brushes')`,
        [us.organisationId, id, JSON.stringify(basis)],
      ),
    )
    const why = async (): Promise<string> =>
      (await us.manager('GET', `machines/${id}/forecasts`)).body.items.find(({ taskKey }: Json) => taskKey === 'replace_motor_brushes').why
    expect(await why()).toMatch(/it may near 9\.5 mm\.$/)
    await us.manager('PATCH', 'me', { units: 'us' })
    // 9.5 mm / 25.4 mm an inch
    expect(await why()).toMatch(/it may near 0\.374 in\.$/)
    await us.manager('PATCH', 'me', { units: 'si' })
  })
})
