/** Lists as spreadsheets of people hold them: titles above, moments in one cell, texts among numbers, a past before the books. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { runPlanningPass } from '@tapewarden/persistence'
import { Client } from 'pg'
import writeSheet from 'write-excel-file/node'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'
import { type Importer, importerOf } from '../../../../tests/support/import-files.js'
import { guessMapping, type ImportKind } from './fields.js'

let api: TestApi
let us: ApiOrganisation
let importer: Importer
const NOW = '2026-05-04T08:00:00Z'
const TYPE = 'Long-strip electric'

type Value = string | number | { date: string; format: string } | null
function sheet(rows: readonly (readonly Value[])[]): Promise<Buffer> {
  const cells = rows.map((row) =>
    row.map((value) => {
      if (value === null) return null
      if (typeof value === 'number') return { value, type: Number }
      return typeof value === 'string' ? { value, type: String } : { value: new Date(value.date), type: Date, format: value.format }
    }),
  )
  return writeSheet(cells, {}).toBuffer() as Promise<Buffer>
}
const moment = (date: string): Value => ({ date, format: 'dd.mm.yyyy hh:mm' })
const plan = () =>
  runPlanningPass(api.database, { organisationId: us.organisationId, warehouseId: us.north, today: '2026-05-04', now: new Date(NOW) })
const kept = async (query: string): Promise<Json[]> => (await us.manager('GET', `evidence?limit=200&${query}`)).body.items
const codes = async (id: string): Promise<[number, string][]> =>
  (await importer.rows(id, 'refused')).map(({ line, faults }: Json) => [line, faults[0].code])
async function bring(kind: string, file: string | Buffer, more?: Record<string, unknown>): Promise<Json> {
  const checked = await importer.check(kind, file, more)
  await importer.apply(checked.id)
  return checked
}

beforeAll(async () => {
  api = await startTestApi(NOW)
  us = await makeOrganisation(api, 'north')
  importer = await importerOf(api, us.manager, 'manager@north.example')
})
afterAll(() => api.close())

describe('moments', () => {
  const readAt = async (): Promise<string[]> =>
    (await kept(`machineId=${us.machineId}`)).map(({ at }) => String(at)).sort((a, b) => a.localeCompare(b))

  it('keep the time that stands in the cell of the day, so that two of one day are two', async () => {
    const rows = [
      ['Etikett', 'Datum', 'Stand'],
      ['N-01', moment('2026-04-06T06:10:00Z'), 100],
      ['N-01', moment('2026-04-06T21:40:00Z'), 400],
    ]
    expect((await bring('evidence', await sheet(rows))).counts).toMatchObject({ new: 2, refused: 0 })
    // Berlin, summer time.
    expect(await readAt()).toEqual(['2026-04-06T04:10:00.000Z', '2026-04-06T19:40:00.000Z'])
    const csv = 'Etikett;Datum;Zählerstand\nN-01;13.04.2026 06:10;900\nN-01;14.04.2026 00:00;1000\nN-01;2026-04-15T06:10:00Z;1100\n'
    const checked = await bring('evidence', csv)
    expect(checked).toMatchObject({ dateForm: 'dmy', counts: { new: 2, refused: 1 } })
    expect(await codes(checked.id)).toEqual([[4, 'NO_TIME']])
    expect((await readAt()).slice(2)).toEqual(['2026-04-13T04:10:00.000Z', '2026-04-14T10:00:00.000Z'])
  })

  it('are read from a cell of its own for the time, too, as workbooks and people write it', async () => {
    const rows = [
      ['Etikett', 'Datum', 'Uhrzeit', 'Stand'],
      ['N-01', moment('2026-04-16T00:00:00Z'), { date: '1899-12-30T06:30:00Z', format: 'hh:mm' }, 1200],
    ]
    expect((await bring('evidence', await sheet(rows))).counts).toMatchObject({ new: 1 })
    const csv = 'Label,Date,Time,Value\nN-01,2026-04-17,6:30 PM,1300\nN-01,2026-04-18,06:30 Uhr,1400\nN-01,2026-04-19,13:30 PM,1500\n'
    expect((await bring('evidence', csv)).counts).toMatchObject({ new: 2, refused: 1 })
    expect((await readAt()).slice(4)).toEqual(['2026-04-16T04:30:00.000Z', '2026-04-17T16:30:00.000Z', '2026-04-18T04:30:00.000Z'])
  })
})

describe('numbers', () => {
  const STRIPS = ['Lager', 'Packplatz', 'Streifen je Karton']
  const perCarton = async (): Promise<Json> =>
    Object.fromEntries(
      (await us.manager('GET', 'stations?limit=50')).body.items.map(({ name, stripsPerCarton }: Json) => [name, stripsPerCarton]),
    )

  it('of a workbook are numbers, whatever mark its texts have', async () => {
    const rows = [STRIPS, ['North', 'W1', 1.125], ['North', 'W2', '2,375'], ['North', 'W3', 1.5], ['North', 'W4', '1.250']]
    const file = await sheet(rows)
    // Texts alone speak of the mark; the first number would have been 1125 with a decimal comma.
    expect((await importer.upload('stations', file)).body).toMatchObject({ decimalMark: null, columns: [{}, {}, { numbers: 'ask' }] })
    const checked = await bring('stations', file, { decimalMark: ',' })
    expect(await codes(checked.id)).toEqual([[5, 'TOO_LARGE']])
    expect(await perCarton()).toMatchObject({ W1: 1.125, W2: 2.375, W3: 1.5 })
  })

  it('that the spreadsheet has shortened, and its errors, are no serial numbers', async () => {
    const row = (label: string, serial: string): string => `${label};${serial};${TYPE};North\n`
    const file = `Etikett;Seriennummer;Typ;Lager\n${row('Q-1', '1,2346E+11')}${row('Q-2', '#NV')}${row('Q-3', '#REF!')}${row('Q-4', '#####')}${row('Q-5', '12E-3')}`
    const checked = await importer.check('machines', file)
    expect(await codes(checked.id)).toEqual([
      [2, 'SHORTENED'],
      [3, 'SHEET_ERROR'],
      [4, 'SHEET_ERROR'],
      [5, 'SHEET_ERROR'],
    ])
  })
})

describe('what cannot be true', () => {
  it('is said with one thing to do, which is the right one', async () => {
    const faults = async (day: string): Promise<Json[]> => {
      const checked = await importer.check('evidence', `Label,Date,Value\nN-01,${day},1\n`)
      return (await importer.rows(checked.id, 'refused')).map(({ faults: [first] }: Json) => [first.code, first.problem, first.remedy])
    }
    expect(await faults('2026-12-31')).toEqual([
      ['IN_THE_FUTURE', 'It is for 31 Dec 2026, 12:00, which lies in the future.', 'Correct the date.'],
    ])
    const type = (await us.manager('GET', `machine-types/${us.machineTypeId}`)).body
    await us.manager('PATCH', `machine-types/${type.id}`, { counterKind: 'none' })
    expect(await faults('2026-05-03')).toEqual([
      ['NO_COUNTER', expect.stringMatching(/have no counter\.$/), expect.stringMatching(/^Say on the page of its type/)],
    ])
    await us.manager('PATCH', `machine-types/${type.id}`, { counterKind: type.counterKind })
  })
})

describe('headings', () => {
  it('are found below a title', async () => {
    const title = ['Packplätze Halle Nord', null, null]
    const rows = [title, ['Stand', '03.04.2026', null], [null, null, null], ['Lager', 'Packplatz', 'Linie'], ['North', 'T1', 'T']]
    const { body } = await importer.upload('stations', await sheet(rows), 'list.xlsx')
    expect(body).toMatchObject({ headings: ['Lager', 'Packplatz', 'Linie'], rowCount: 1 })
    const blanks = ';;\n;;\nLager;Packplatz;Linie\nNorth;T3;T\n'
    expect((await importer.upload('stations', blanks)).body).toMatchObject({ headings: ['Lager', 'Packplatz', 'Linie'], rowCount: 1 })
    const unknown = 'Unsere Liste;;\n\nHallenname;Stelle;Gang\nNorth;T2;T\n'
    expect((await importer.upload('stations', unknown)).body).toMatchObject({ headings: ['Hallenname', 'Stelle', 'Gang'], rowCount: 1 })
  })

  it.each<[ImportKind, string[], number]>([
    ['machines', ['Étiquette', 'N° de série', 'Type de machine', 'Entrepôt', 'Poste', 'Mise en service', 'Remarque'], 7],
    ['stations', ['Lager', 'Packplatz', 'Linie', 'Reihenfolge', 'Streifen je Karton'], 5],
    ['evidence', ['Maschine', 'Datum', 'Uhrzeit', 'Zählerstand'], 4],
    ['rolls', ['Maschine', 'Von', 'Bis', 'Rollen', 'Meter je Rolle'], 5],
    ['service_history', ['Etikett', 'Aufgabe', 'Erledigt am', 'Von'], 4],
    ['warehouses', ['Entrepôt', 'Fuseau horaire', 'Adresse', 'Coût horaire'], 4],
  ])('of %s are known in other languages: %j', (kind, headings, count) => {
    expect(Object.keys(guessMapping(kind, headings))).toHaveLength(count)
  })
})

describe('names', () => {
  it('of stations that differ by blanks alone are one', async () => {
    const checked = await importer.check('stations', 'Lager;Packplatz\nNorth;A 01\nNorth;C 7\nNorth;c7\n')
    expect(checked.counts).toMatchObject({ new: 1, refused: 2 })
    expect(await codes(checked.id)).toEqual([
      [2, 'ALMOST_THERE'],
      [4, 'ALMOST_THERE'],
    ])
  })

  it('of two stations that differ by blanks alone in the books name the one that is written', async () => {
    for (const name of ['Z 1', 'Z1']) await us.manager('POST', 'stations', { warehouseId: us.north, name })
    const checked = await importer.check('stations', 'Lager;Packplatz;Linie\nNorth;z 1;Ost\nNorth;Z1;West\n')
    expect(checked.counts).toMatchObject({ changed: 2, refused: 0 })
  })
})

describe('a past before the books', () => {
  it('of use counts from the day on which the machine was commissioned; of care is refused before it', async () => {
    const machines = `Label;Type;Site;Place;Commissioned\nP-1;${TYPE};North;A01;2026-02-02\nP-2;${TYPE};North;;\n`
    await bring('machines', machines)
    await bring('taps', 'Label;Month;Runs\nP-1;2026-01;all day\nP-1;2026-03;all day\nP-2;2026-01;all day\n')
    await plan()
    const aside = (await kept('state=set_aside&kind=monthly_tap')).map(({ machine, fromDate, setAsideCode }) => [
      machine.labelCode,
      fromDate,
      setAsideCode,
    ])
    expect(aside).toEqual([['P-1', '2026-01-01', 'NOT_IN_SERVICE']])
    const { id } = (await us.manager('GET', 'machine-labels/P-1')).body
    const days = (await us.manager('GET', `machines/${id}/usage?from=2026-03-01&to=2026-03-31`)).body.days
    expect(days).toHaveLength(22)
    const checked = await importer.check('service_history', 'Label,Task,Done on\nP-1,check_chain,2026-02-01\nP-1,check_chain,2026-02-02\n')
    expect(await codes(checked.id)).toEqual([[2, 'BEFORE_COMMISSIONING']])
    // The day of commissioning was wrong: what was set aside for it is judged again.
    await us.manager('PATCH', `machines/${id}`, { commissionedOn: '2025-12-01' })
    await plan()
    expect(await kept('state=set_aside&kind=monthly_tap')).toEqual([])
  })

  it('of a station goes to the machines that came into the books there first', async () => {
    await bring('stations', 'Lager;Packplatz;Streifen je Karton\nNorth;E1;2\n')
    await bring('cartons', 'Lager;Packplatz;Datum;Kartons\nNorth;E1;2026-04-14;100\n')
    await bring('machines', `Label;Type;Site;Place;Commissioned\nE-2;${TYPE};North;E1;2026-05-01\n`)
    await plan()
    expect(await kept('state=set_aside&kind=cartons_day')).toMatchObject([{ setAsideCode: 'NOT_PLACED_THEN' }])
    await bring('machines', `Label;Type;Site;Place\nE-1;${TYPE};North;E1\n`)
    await plan()
    expect(await kept('state=set_aside&kind=cartons_day')).toEqual([])
    const { id } = (await us.manager('GET', 'machine-labels/E-1')).body
    expect((await us.manager('GET', `machines/${id}/usage?from=2026-04-14&to=2026-04-14`)).body.days).toMatchObject([{ strips: 200 }])
  })
})

it('a month that was told for its last days alone is there already', async () => {
  const file = 'Label;Month;Runs\nN-01;2026-03;seldom\n'
  await bring('taps', file)
  const client = new Client({ connectionString: api.test.ownerUrl })
  await client.connect()
  await client.query(`UPDATE evidence SET from_date = '2026-03-29' WHERE kind = 'monthly_tap' AND machine_id = $1`, [us.machineId])
  await client.query(`DELETE FROM evidence_key`)
  await client.end()
  expect((await importer.check('taps', file)).counts).toMatchObject({ new: 0, unchanged: 1 })
})

describe('a file that is sent again', () => {
  it('is read once for an idempotency key, and has its answer again', async () => {
    const list = 'Lager;Packplatz\nNorth;K1\nNorth;K2\n'
    const upload = () => importer.upload('stations', list, 'once.csv', { 'idempotency-key': 'file-1' })
    const first = await upload()
    expect(first).toMatchObject({ status: 201, body: { state: 'to_map', rowCount: 2 } })
    expect(await upload()).toMatchObject({ status: 201, body: first.body, headers: { 'idempotency-replayed': 'true' } })
    const { items } = (await us.manager('GET', 'imports?limit=200')).body
    expect(items.filter(({ fileName }: Json) => fileName === 'once.csv')).toMatchObject([{ id: first.body.id }])
  })
})
