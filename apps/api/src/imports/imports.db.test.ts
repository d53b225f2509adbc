import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { runPlanningPass } from '@tapewarden/persistence'
import { Client } from 'pg'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'
import { type Importer, importerOf } from '../../../../tests/support/import-files.js'

let api: TestApi
let us: ApiOrganisation
let importer: Importer
const TYPE = 'Long-strip electric'
const get = async (path: string): Promise<Json> => (await us.manager('GET', path)).body
const machineOf = (label: string) => get(`machine-labels/${label}`)

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
  importer = await importerOf(api, us.manager, 'manager@north.example')
})
afterAll(() => api.close())

const machines = (from: number, count: number): string =>
  ['Label code;Serial number;Machine type;Warehouse;Station;Commissioned on;Note']
    .concat(Array.from({ length: count }, (_, at) => `M-${from + at};SN-${from + at};${TYPE};North;A01;31.01.2025;"said ""fine"", dry"`))
    .join('\r\n')

describe('an import of machines', () => {
  it('says in a dry run what is new, writes nothing, then writes it; the same file again adds nothing', async () => {
    const checked = await importer.check('machines', `\ufeff${machines(100, 12)}`)
    expect(checked).toMatchObject({
      state: 'checked',
      rowCount: 12,
      workedCount: 12,
      dateForm: 'dmy',
      counts: { new: 12, refused: 0, applied: 0 },
    })
    expect((await us.manager('GET', 'machine-labels/M-100')).status).toBe(404)
    expect(await importer.apply(checked.id)).toMatchObject({ state: 'applied', counts: { new: 12, applied: 12 } })
    expect(await machineOf('M-100')).toMatchObject({ commissionedOn: '2025-01-31', note: 'said "fine", dry', station: { name: 'A01' } })
    const again = await importer.check('machines', machines(100, 12))
    expect(again).toMatchObject({ mappingFrom: 'saved', counts: { new: 0, changed: 0, unchanged: 12 } })
    const audit = (await get('audit?limit=200')).items.filter(
      (entry: Json) => entry.subjectKind === 'machine' && entry.after?.labelCode === 'M-100',
    )
    expect(audit).toHaveLength(1)
  })

  it('changes what differs and leaves what is empty', async () => {
    const checked = await importer.check(
      'machines',
      `label,type,site,note,tape\nM-100,${TYPE},North,New note,reinforced\nM-101,${TYPE},North,,\n`,
    )
    expect(checked.counts).toMatchObject({ changed: 1, unchanged: 1 })
    await importer.apply(checked.id)
    expect(await machineOf('M-100')).toMatchObject({ note: 'New note', tape: 'reinforced', serialNumber: 'SN-100' })
    expect((await us.manager('POST', `imports/${checked.id}/undo`)).body).toMatchObject({ state: 'undone' })
    expect(await machineOf('M-100')).toMatchObject({ note: 'said "fine", dry', tape: 'unknown' })
  })

  it('takes good rows only, or all or nothing; refused rows come back as a file that can be imported once put right', async () => {
    const file = `Label code,Machine type,Warehouse\nG-1,${TYPE},North\nG 2,${TYPE},North\nG-3,No such type,Nowhere\n`
    const checked = await importer.check('machines', file)
    expect(checked.counts).toMatchObject({ new: 1, refused: 2 })
    expect(await importer.apply(checked.id, 'all_or_nothing')).toMatchObject({ code: 'ROWS_REFUSED' })
    expect((await us.manager('GET', 'machine-labels/G-1')).status).toBe(404)
    expect(await importer.apply(checked.id)).toMatchObject({ state: 'applied', counts: { applied: 1, refused: 2 } })
    const { content } = await get(`imports/${checked.id}/refused-rows`)
    expect(content).toContain('Line in the file,What is wrong')
    expect(content).toContain('G 2,')
    expect(content).toContain('is no label code.')
    const right = content.replace('G 2', 'G-2').replace(`G-3,No such type,Nowhere`, `G-3,${TYPE},North`)
    expect((await importer.check('machines', right)).counts).toMatchObject({ new: 2, refused: 0 })
  })

  it('remembers the mapping of the same headings', async () => {
    const headings = 'Etikett-Nr,Maschinentyp,Wo\n'
    const first = (await importer.upload('machines', `${headings}R-1,${TYPE},North\n`)).body
    expect(first).toMatchObject({ mappingFrom: 'guessed', mapping: { machineType: 1 } })
    const mapping = { labelCode: 0, machineType: 1, warehouse: 2 }
    expect((await us.manager('PUT', `imports/${first.id}/mapping`, { mapping: { labelCode: 0 } })).body).toMatchObject({
      code: 'FIELD_MISSING',
    })
    await us.manager('PUT', `imports/${first.id}/mapping`, { mapping })
    expect((await importer.upload('machines', `${headings}R-2,${TYPE},North\n`)).body).toMatchObject({ mappingFrom: 'remembered', mapping })
  })

  it('is undone while nothing depends on it, with what the planner made of it, and not after', async () => {
    const pass = () =>
      runPlanningPass(api.database, {
        organisationId: us.organisationId,
        warehouseId: us.north,
        today: '2026-05-04',
        now: new Date('2026-05-04T08:00:00Z'),
      })
    const checked = await importer.check('machines', machines(200, 3))
    await importer.apply(checked.id)
    await pass()
    const made = await machineOf('M-200')
    expect((await get(`machines/${made.id}/forecasts`)).items.length).toBeGreaterThan(0)
    expect((await us.manager('POST', `imports/${checked.id}/undo`)).body).toMatchObject({ state: 'undone', counts: { applied: 0 } })
    expect((await us.manager('GET', 'machine-labels/M-200')).status).toBe(404)
    await pass()
    const again = await importer.check('machines', machines(200, 3))
    expect(again.counts).toMatchObject({ new: 3 })
    await importer.apply(again.id)
    await us.manager('POST', 'evidence', { kind: 'strips_day', labelCode: 'M-201', day: '2026-05-01', strips: 100 })
    const refused = await us.manager('POST', `imports/${again.id}/undo`)
    expect(refused).toMatchObject({ status: 409, body: { code: 'STILL_NEEDED' } })
    expect((await us.manager('GET', 'machine-labels/M-200')).status).toBe(200)
  })
})

describe('other lists', () => {
  it('brings warehouses and stations in, and takes them out again', async () => {
    const halls = await importer.check('warehouses', 'Warehouse\tTime zone\tLabour cost an hour\nImported Hall\tEurope/Madrid\t41,50\n')
    expect(halls).toMatchObject({ decimalMark: ',', counts: { new: 1 } })
    await importer.apply(halls.id)
    const stations = await importer.check(
      'stations',
      'Warehouse,Station,Line,Place in the walk,If it stops,Strips a carton\nImported Hall,P1,P,1,packing stops,2.5\nNorth,A01,A,1,slows,2\n',
    )
    expect(stations.counts).toMatchObject({ new: 1, unchanged: 1 })
    await importer.apply(stations.id)
    expect((await us.manager('POST', `imports/${halls.id}/undo`)).body).toMatchObject({ code: 'STILL_NEEDED' })
    expect((await us.manager('POST', `imports/${stations.id}/undo`)).body).toMatchObject({ state: 'undone' })
    expect((await us.manager('POST', `imports/${halls.id}/undo`)).body).toMatchObject({ state: 'undone' })
    expect((await get('warehouses')).items.some(({ name }: Json) => name === 'Imported Hall')).toBe(false)
  })

  it('asks for the form of dates that can be read in two ways, and never guesses it', async () => {
    const file = 'Label code,Date,Value\nN-01,03/04/2026,1200\nN-01,05/04/2026,1300\n'
    const { body } = await importer.upload('evidence', file)
    expect(body).toMatchObject({ dateForm: null, columns: [{ dates: null }, { dates: 'ask' }, { dates: null }] })
    expect((await us.manager('PUT', `imports/${body.id}/mapping`, { mapping: body.mapping })).body).toMatchObject({
      code: 'DATE_FORM_AMBIGUOUS',
    })
    const checked = await importer.check('evidence', file, { dateForm: 'dmy' })
    expect(checked.counts).toMatchObject({ new: 2 })
    await importer.apply(checked.id)
    const evidence = (await get(`evidence?machineId=${us.machineId}`)).items
    expect(evidence.map(({ fromDate }: Json) => fromDate).sort()).toEqual(['2026-04-03', '2026-04-05'])
    // Noon in Berlin, summer time.
    expect(evidence.map(({ at }: Json) => at).sort()[0]).toBe('2026-04-03T10:00:00.000Z')
    expect((await importer.check('evidence', file, { dateForm: 'dmy' })).counts).toMatchObject({ unchanged: 2, new: 0 })
  })

  it('asks for the decimal mark of 1,234', async () => {
    const { body } = await importer.upload('evidence', 'Label code;Date;Value\nN-01;2026-04-10;1,234\n')
    expect(body).toMatchObject({ decimalMark: null })
    expect((await us.manager('PUT', `imports/${body.id}/mapping`, { mapping: body.mapping })).body).toMatchObject({
      code: 'DECIMAL_MARK_AMBIGUOUS',
    })
  })

  it('refuses readings that cannot be true, with the reason, and takes the rest', async () => {
    const checked = await importer.check(
      'evidence',
      'Label code,Date,Value\nN-01,2026-04-20,1500\nN-01,2026-04-21,900\nN-01,2026-04-22,1600\nN-01,2027-01-01,9000\n',
    )
    expect(checked.counts).toMatchObject({ new: 2, refused: 2 })
    const refused = await importer.rows(checked.id, 'refused')
    expect(refused.map(({ line, faults }: Json) => [line, faults[0].code])).toEqual([
      [3, 'RUNS_BACKWARDS'],
      [5, 'IN_THE_FUTURE'],
    ])
    await importer.apply(checked.id)
    expect((await get(`evidence?machineId=${us.machineId}&state=set_aside`)).items).toEqual([])
    expect((await us.manager('POST', `imports/${checked.id}/undo`)).body).toMatchObject({ state: 'undone' })
    const left = (await get(`evidence?machineId=${us.machineId}&state=counted`)).items
    expect(left).toHaveLength(2)
  })

  it('brings in service history, from which the clocks then start', async () => {
    const file = 'Label code,Task,Done on,Done by\nN-01,Check the chain tension,2026-02-10,Mara\nN-01,check_chain,2025-08-10,Mara\n'
    const checked = await importer.check('service_history', file)
    expect(checked.counts).toMatchObject({ new: 2 })
    await importer.apply(checked.id)
    await runPlanningPass(api.database, {
      organisationId: us.organisationId,
      warehouseId: us.north,
      today: '2026-05-04',
      now: new Date('2026-05-04T08:00:00Z'),
    })
    const { items } = await get(`machines/${us.machineId}/forecasts`)
    // Rule 3: six months from 10 February 2026.
    expect(items.find(({ taskKey }: Json) => taskKey === 'check_chain')).toMatchObject({ likelyOn: '2026-08-10', lastDoneOn: '2026-02-10' })
    expect((await importer.check('service_history', file)).counts).toMatchObject({ unchanged: 2 })
    await us.manager('POST', `imports/${checked.id}/undo`)
    const again = await importer.check('service_history', file)
    expect(again.counts).toMatchObject({ new: 2 })
    await importer.apply(again.id)
  })

  it('dates components, and puts the old date back on undo', async () => {
    const checked = await importer.check('components', 'Label code,Component,Fitted new on\nN-01,blade,2024-06-12\n')
    expect(checked.counts).toMatchObject({ changed: 1 })
    await importer.apply(checked.id)
    const blade = async () =>
      (await get(`machines/${us.machineId}/components`)).items.find(({ componentType }: Json) => componentType.key === 'blade')
    expect(await blade()).toMatchObject({ newOn: '2024-06-12' })
    await us.manager('POST', `imports/${checked.id}/undo`)
    expect(await blade()).toMatchObject({ newOn: null })
  })
})

describe('use as most machines tell it', () => {
  const CARTONS = 'Warehouse;Station;Date;Cartons\nNorth;A01;13.04.2026;420\nnorth;a01;14.04.2026;310,5\n'
  const ROLLS = 'Label code,From,To,Rolls used,Metres a roll\nN-01,2026-01-05,2026-01-30,12,150\n'
  const TAPS = 'Label code,Month,Runs\nN-01,2026-02,all day\nN-01,03/2026,seldom\nS-01,2026-03-15,not known\n'
  const bring = async (kind: string, file: string) => {
    const checked = await importer.check(kind, file)
    await importer.apply(checked.id)
    return checked
  }
  const kept = async (kind: string) => (await get(`evidence?state=counted&kind=${kind}&limit=200`)).items

  it('cartons at a station count there, once, and are taken back with their import', async () => {
    api.planned.length = 0
    const { id, counts } = await bring('cartons', CARTONS)
    expect(counts).toMatchObject({ new: 2, refused: 0 })
    expect(
      (await kept('cartons_day')).map(({ station, machine, fromDate, amount }: Json) => [station.name, machine, fromDate, amount]),
    ).toEqual([
      ['A01', null, '2026-04-14', 310.5],
      ['A01', null, '2026-04-13', 420],
    ])
    expect(api.planned).toContain(us.north)
    expect((await importer.check('cartons', CARTONS)).counts).toMatchObject({ unchanged: 2, new: 0 })
    api.planned.length = 0
    await us.manager('POST', `imports/${id}/undo`)
    expect(await kept('cartons_day')).toEqual([])
    expect(api.planned).toContain(us.north)
    await bring('cartons', CARTONS)
  })

  it('rolls and a word a month become evidence of their kind, once', async () => {
    expect((await bring('rolls', ROLLS)).counts).toMatchObject({ new: 1 })
    expect((await bring('taps', TAPS)).counts).toMatchObject({ new: 3 })
    expect(await kept('rolls')).toMatchObject([{ fromDate: '2026-01-05', toDate: '2026-01-30', amount: 12, detail: { rollMetres: 150 } }])
    expect(
      (await kept('monthly_tap')).map(({ machine, fromDate, detail }: Json) => [machine.labelCode, fromDate, detail.runs]).sort(),
    ).toEqual([
      ['N-01', '2026-02-01', 'all_day'],
      ['N-01', '2026-03-01', 'seldom'],
      ['S-01', '2026-03-01', 'dont_know'],
    ])
    for (const [kind, file] of [['rolls', ROLLS] as const, ['taps', TAPS] as const])
      expect((await importer.check(kind, file)).counts).toMatchObject({ new: 0, refused: 0 })
  })

  it('another word for a month that a file has told already is refused, not lost', async () => {
    const checked = await importer.check('taps', TAPS.replace('all day', 'seldom'))
    expect(checked.counts).toMatchObject({ unchanged: 2, refused: 1 })
    const [refused] = await importer.rows(checked.id, 'refused')
    expect(refused!.faults[0]).toMatchObject({ column: 'Runs', value: 'seldom', code: 'DUPLICATE' })
  })
})

describe('work in the background', () => {
  it('can be cancelled, and goes on where a process that died has left it', async () => {
    const { body } = await importer.upload('machines', machines(300, 4))
    expect((await us.manager('POST', `imports/${body.id}/cancellation`)).body).toMatchObject({ state: 'cancelled' })
    // More than one part; the last row says again what the first did.
    const file = machines(400, 54)
    const other = (await importer.upload('machines', `${file}\r\n${file.split('\r\n')[1]}`)).body
    // As a process leaves it that was killed after its first part.
    await api.database.withOrganisationSql(us.organisationId, (scope) =>
      scope.run(
        `UPDATE import SET state = 'checking', mapping = $3, date_form = 'dmy', worked_position = 50, lease_until = clock_timestamp() - interval '1 second' WHERE organisation_id = $1 AND id = $2`,
        [us.organisationId, other.id, JSON.stringify(other.mapping)],
      ),
    )
    await us.manager('GET', `imports/${other.id}`)
    const { ImportRunner } = await import('./runner.js')
    await api.app.get(ImportRunner).settled()
    expect(await get(`imports/${other.id}`)).toMatchObject({ state: 'checked', workedCount: 55, counts: { new: 4, refused: 1 } })
    const [refused] = await importer.rows(other.id, 'refused')
    expect(refused).toMatchObject({ line: 56, faults: [{ code: 'TWICE', problem: 'stands in line 2 already.' }] })
  })

  it('writes all or nothing: nothing where it is cancelled while it writes, all where it is not', async () => {
    const file = 'Label code,Kind,Date,Value\nS-01,strips a day,2011-03-01,7\nS-01,strips a day,2011-03-02,8\n'
    const kept = async () =>
      (await get('evidence?kind=strips_day&limit=200')).items.filter(({ fromDate }: Json) => fromDate.startsWith('2011-03')).length
    const { ImportRunner } = await import('./runner.js')
    const cancelled = await importer.check('evidence', file)
    const holder = new Client({ connectionString: api.test.ownerUrl })
    await holder.connect()
    try {
      // The work stands still in the middle of its transaction.
      await holder.query('BEGIN; LOCK TABLE evidence_key IN SHARE MODE')
      await us.manager('POST', `imports/${cancelled.id}/applying`, { how: 'all_or_nothing' })
      expect((await us.manager('POST', `imports/${cancelled.id}/cancellation`)).body).toMatchObject({ state: 'cancelled' })
    } finally {
      await holder.query('ROLLBACK')
      await holder.end()
    }
    await api.app.get(ImportRunner).settled()
    expect(await get(`imports/${cancelled.id}`)).toMatchObject({ state: 'cancelled', counts: { applied: 0 } })
    expect(await kept()).toBe(0)
    const whole = await importer.check('evidence', file)
    expect(await importer.apply(whole.id, 'all_or_nothing')).toMatchObject({ state: 'applied', counts: { new: 2, applied: 2 } })
    expect((await importer.rows(whole.id, 'new')).map(({ applied }) => applied)).toEqual([true, true])
    expect(await kept()).toBe(2)
  })

  it('goes on with the writing of a file of several parts, is looked at by pages of each outcome, and is undone whole', async () => {
    const rows = Array.from({ length: 5100 }, (_, at) => {
      const day = new Date(Date.parse('2012-01-01T00:00:00Z') + at * 86_400_000).toISOString().slice(0, 10)
      return at % 100 === 99 ? `NONE-${at},strips a day,${day},7` : `N-01,strips a day,${day},${100 + (at % 7)}`
    })
    const file = `Label code,Kind,Date,Value\n${rows.join('\n')}\n`
    const { id, counts } = await importer.check('evidence', file)
    expect(counts).toMatchObject({ new: 5049, refused: 51 })
    const lines = async (outcome: string): Promise<number[]> => {
      const found: number[] = []
      for (let cursor = ''; ;) {
        const page = await get(`imports/${id}/rows?limit=200&outcome=${outcome}${cursor ? `&cursor=${encodeURIComponent(cursor)}` : ''}`)
        found.push(...page.items.map(({ line }: Json) => line))
        if (!page.nextCursor) return found
        cursor = page.nextCursor
      }
    }
    expect(await lines('refused')).toEqual(Array.from({ length: 51 }, (_, at) => 101 + at * 100))
    const good = await lines('new')
    expect([good.length, new Set(good).size, good[0], good.at(-1)]).toEqual([5049, 5049, 2, 5100])
    // As a process leaves it that was killed before it wrote the last part.
    await api.database.withOrganisationSql(us.organisationId, (scope) =>
      scope.run(
        `UPDATE import SET state = 'applying', how = 'good_rows', worked_position = 5000, lease_until = clock_timestamp() - interval '1 second'
         WHERE organisation_id = $1 AND id = $2`,
        [us.organisationId, id],
      ),
    )
    await get(`imports/${id}`)
    const { ImportRunner } = await import('./runner.js')
    await api.app.get(ImportRunner).settled()
    expect(await get(`imports/${id}`)).toMatchObject({
      state: 'applied',
      workedCount: 5100,
      counts: { new: 5049, refused: 51, applied: 99 },
    })
    const first = (await get(`imports/${id}/rows?outcome=new&limit=2`)).items
    expect(first.map((row: Json) => [row.line, row.applied])).toEqual([
      [2, false],
      [3, false],
    ])
    expect((await us.manager('POST', `imports/${id}/undo`)).body).toMatchObject({ state: 'undone', counts: { applied: 0 } })
    expect((await importer.check('evidence', file)).counts).toMatchObject({ new: 5049, unchanged: 0, refused: 51 })
  })
})

describe('lists as files', () => {
  it.each(['warehouses', 'stations', 'machines', 'components', 'evidence', 'cartons', 'rolls', 'taps', 'service_history'])(
    '%s: what is exported imports without a change',
    async (kind) => {
      for (const format of ['csv', 'xlsx']) {
        const { content, encoding } = await get(`exports?list=${kind}&format=${format}`)
        const checked = await importer.check(kind, Buffer.from(content, encoding))
        expect([format, checked.state, checked.counts?.new, checked.counts?.changed, checked.counts?.refused]).toEqual([
          format,
          'checked',
          0,
          0,
          0,
        ])
        expect(checked.rowCount).toBeGreaterThan(0)
      }
    },
  )

  it.each(['dates', 'work_orders', 'stoppages', 'parts', 'people'])('%s can be taken out', async (list) => {
    const { status, body } = await us.manager('GET', `exports?list=${list}`)
    expect(status).toBe(200)
    expect(body.content.startsWith('\ufeff')).toBe(true)
  })

  it('lets no cell become a formula, and takes its apostrophe off again', async () => {
    const note = '=HYPERLINK("http://bad.example")'
    await us.manager('PATCH', `machines/${us.machineId}`, { note })
    const { content } = await get('exports?list=machines')
    expect(content).toContain(`"'=HYPERLINK(""http://bad.example"")"`)
    expect((await importer.check('machines', content)).counts).toMatchObject({ changed: 0, new: 0, refused: 0 })
  })

  it.each(['warehouses', 'stations', 'machines', 'components', 'evidence', 'cartons', 'rolls', 'taps', 'service_history'])(
    'has a template for %s that reads back',
    async (kind) => {
      const { content, encoding } = await get(`import-templates?kind=${kind}&format=xlsx`)
      const { status, body } = await importer.upload(kind, Buffer.from(content, encoding), 'template.xlsx')
      expect(status).toBe(201)
      expect(Object.keys(body.mapping)).toHaveLength(body.fields.length)
    },
  )
})
