/** Sixty files that are broken in sixty ways: each says where, what is wrong and how to put it right. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { zipSync } from 'fflate'
import { startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'
import { type Importer, importerOf } from '../../../../tests/support/import-files.js'

let api: TestApi
let us: ApiOrganisation
let importer: Importer

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
  importer = await importerOf(api, us.manager, 'manager@north.example')
})
afterAll(() => api.close())

const TYPE = 'Long-strip electric'
const HEAD = 'Label code,Machine type,Warehouse'
const machine = (more: string, cells: string): string =>
  `${HEAD}${more}\nOK-1,${TYPE},North${','.repeat((more.match(/,/g) ?? []).length)}\n${cells}\n`
const reading = (cells: string): string => `Label code,Date,Value\nN-01,2026-04-01,1000\n${cells}\n`
const care = (cells: string): string => `Label code,Task,Done on\nN-01,check_chain,2025-02-10\n${cells}\n`

/** The whole file is refused: [what, kind, content, code, words]. */
const files: [string, string, string | Buffer, string, RegExp][] = [
  ['nothing in it', 'machines', '', 'IMPORT_EMPTY', /empty.*template/],
  ['headings only', 'machines', `${HEAD}\n`, 'IMPORT_NO_ROWS', /no rows/],
  ['headings and blank lines only', 'machines', `${HEAD}\n\n,,\n`, 'IMPORT_NO_ROWS', /no rows/],
  ['a first row of blanks', 'machines', ',,\nN,T,W\n', 'IMPORT_NO_HEADING', /heading above each column/],
  ['one heading twice', 'machines', 'Label code,Note,Note\nA-1,x,y\n', 'IMPORT_HEADING_TWICE', /‘Note’/],
  [
    'a quotation mark never closed',
    'machines',
    `${HEAD}\nA-1,"${TYPE},North\nA-2,x,y\n`,
    'IMPORT_CSV_QUOTE_NOT_CLOSED',
    /never closed.*line/,
  ],
  ['a quotation mark inside a cell', 'machines', `${HEAD}\nA-1,12" type,North\n`, 'IMPORT_INVALID_OPENING_QUOTE', /line 2.*double/],
  ['something after a closing quotation mark', 'machines', `${HEAD}\nA-1,"${TYPE}"x,North\n`, 'IMPORT_CSV_INVALID_CLOSING_QUOTE', /line 2/],
  ['bytes that are no UTF-8', 'machines', Buffer.from([0x4c, 0x61, 0x62, 0xe4, 0xff, 0x0a]), 'IMPORT_NOT_UTF8', /CSV UTF-8/],
  ['a picture', 'machines', Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x00, 0x00]), 'IMPORT_NOT_UTF8', /UTF-8/],
  ['NUL characters', 'machines', 'Label\u0000code\nx\n', 'IMPORT_BINARY', /no text file/],
  ['a PDF', 'machines', '%PDF-1.7\n', 'IMPORT_PDF', /CSV or XLSX/],
  ['an old workbook', 'machines', Buffer.from([0xd0, 0xcf, 0x11, 0xe0]), 'IMPORT_OLD_WORKBOOK', /Save it as XLSX/],
  ['a zip without a sheet', 'machines', Buffer.from(zipSync({ 'a.txt': Buffer.from('a') })), 'IMPORT_NO_XLSX', /cannot be read as XLSX/],
  [
    'an XLSX cut off',
    'machines',
    Buffer.from(zipSync({ 'xl/worksheets/sheet1.xml': Buffer.from('<a/>') })).subarray(0, 60),
    'IMPORT_NO_XLSX',
    /save it/,
  ],
  [
    'a zip bomb',
    'machines',
    Buffer.from(zipSync({ 'xl/worksheets/sheet1.xml': new Uint8Array(160 * 1024 * 1024) }, { level: 9 })),
    'IMPORT_BOMB',
    /unpacks to far more/,
  ],
  ['a row without an end', 'machines', `${HEAD}\nA-1,"${'x'.repeat(220_000)}`, 'IMPORT_CSV_MAX_RECORD_SIZE', /200 000/],
  [
    'too many columns',
    'machines',
    `${Array.from({ length: 250 }, (_, at) => `c${at}`).join(',')}\n1\n`,
    'IMPORT_TOO_MANY_COLUMNS',
    /200 columns/,
  ],
]

/** One row is refused: [what, kind, content, line, column, code, words of the problem, words of the remedy, settings]. */
const rows: [string, string, string, number, string, string, RegExp, RegExp, Record<string, unknown>?][] = [
  ['no label', 'machines', machine('', `,${TYPE},North`), 3, 'Label code', 'MISSING', /is empty/, /Fill in ‘Label code’/],
  ['a label with a blank', 'machines', machine('', `A 1,${TYPE},North`), 3, 'Label code', 'LABEL', /no label code/, /letters, digits/],
  ['a label of one letter', 'machines', machine('', `A,${TYPE},North`), 3, 'Label code', 'LABEL', /no label code/, /2 to 40/],
  [
    'a label of 41 letters',
    'machines',
    machine('', `${'A'.repeat(41)},${TYPE},North`),
    3,
    'Label code',
    'LABEL',
    /no label code/,
    /2 to 40/,
  ],
  [
    'a label that is a formula',
    'machines',
    machine('', `=A1,${TYPE},North`),
    3,
    'Label code',
    'LABEL',
    /no label code/,
    /beginning with a letter/,
  ],
  ['a label twice', 'machines', machine('', `OK-1,${TYPE},North`), 3, 'Label code', 'TWICE', /line 2 already/, /one of the two/],
  [
    'a label twice in another case',
    'machines',
    machine('', `ok-1,${TYPE},North`),
    3,
    'Label code',
    'TWICE',
    /line 2 already/,
    /one of the two/,
  ],
  [
    'an unknown type',
    'machines',
    machine('', 'A-1,Flux capacitor,North'),
    3,
    'Machine type',
    'UNKNOWN_MACHINE_TYPE',
    /no machine type/,
    /Long-strip electric/,
  ],
  ['no type', 'machines', machine('', 'A-1,,North'), 3, 'Machine type', 'MISSING', /is empty/, /Machine type/],
  [
    'an unknown warehouse',
    'machines',
    machine('', `A-1,${TYPE},West`),
    3,
    'Warehouse',
    'UNKNOWN_WAREHOUSE',
    /no warehouse/,
    /North, South/,
  ],
  [
    'an unknown station',
    'machines',
    machine(',Station', `A-1,${TYPE},North,Z99`),
    3,
    'Station',
    'UNKNOWN_STATION',
    /no station/,
    /stations first/,
  ],
  [
    'a station of another warehouse',
    'machines',
    machine(',Station', `A-1,${TYPE},South,A01`),
    3,
    'Station',
    'UNKNOWN_STATION',
    /no station/,
    /stations first/,
  ],
  [
    'a date in words',
    'machines',
    machine(',Commissioned on', `A-1,${TYPE},North,last spring`),
    3,
    'Commissioned on',
    'NO_DATE',
    /no date/,
    /2026-05-04/,
  ],
  [
    '30 February',
    'machines',
    machine(',Commissioned on', `A-1,${TYPE},North,2026-02-30`),
    3,
    'Commissioned on',
    'NO_SUCH_DAY',
    /no day/,
    /Correct the day/,
  ],
  [
    '29 February of a common year',
    'machines',
    machine(',Commissioned on', `A-1,${TYPE},North,29.02.2025`),
    3,
    'Commissioned on',
    'NO_SUCH_DAY',
    /no day/,
    /date form/,
  ],
  [
    'a year of two digits',
    'machines',
    machine(',Commissioned on', `A-1,${TYPE},North,01.02.24`),
    3,
    'Commissioned on',
    'TWO_DIGIT_YEAR',
    /two digits/,
    /four digits/,
  ],
  [
    'a count of days',
    'machines',
    machine(',Commissioned on', `A-1,${TYPE},North,45292`),
    3,
    'Commissioned on',
    'SERIAL_DATE',
    /count of days/,
    /Format the column/,
  ],
  [
    'the year 1800',
    'machines',
    machine(',Commissioned on', `A-1,${TYPE},North,1800-01-01`),
    3,
    'Commissioned on',
    'DATE_RANGE',
    /too far/,
    /year/,
  ],
  [
    'a day that is still to come',
    'machines',
    machine(',Commissioned on', `A-1,${TYPE},North,2027-01-01`),
    3,
    'Commissioned on',
    'IN_THE_FUTURE',
    /future/,
    /Correct the date/,
  ],
  [
    'a word that is no owner',
    'machines',
    machine(',Owner', `A-1,${TYPE},North,stolen`),
    3,
    'Owner',
    'NO_CHOICE',
    /none of the words/,
    /‘own’, ‘lent’ or ‘leased’/,
  ],
  [
    'a word that is no tape',
    'machines',
    machine(',Tape', `A-1,${TYPE},North,sticky`),
    3,
    'Tape',
    'NO_CHOICE',
    /none of the words/,
    /‘reinforced’/,
  ],
  [
    'a note of 5000 characters',
    'machines',
    machine(',Note', `A-1,${TYPE},North,${'n'.repeat(5000)}`),
    3,
    'Note',
    'TOO_LONG',
    /5000 characters/,
    /4000/,
  ],
  [
    'a cell too many',
    'machines',
    machine('', `A-1,${TYPE},North,surplus`),
    3,
    'column 4',
    'TOO_MANY_CELLS',
    /beyond the last heading/,
    /quotation marks/,
  ],
  [
    'a serial number that another has',
    'machines',
    machine(',Serial number', `A-1,${TYPE},North,S-N-01`),
    3,
    'Serial number',
    'ALREADY_THERE',
    /already/,
    /leave the row out/,
  ],
  [
    'another type than the machine has',
    'machines',
    'Label code,Machine type,Warehouse\nN-01,Other,North\n',
    2,
    'Machine type',
    'UNKNOWN_MACHINE_TYPE',
    /no machine type/,
    /Set-up/,
  ],
  [
    'a machine that stands elsewhere',
    'machines',
    machine('', `N-01,${TYPE},South`),
    3,
    'Warehouse',
    'STANDS_ELSEWHERE',
    /not where/,
    /Move the machine/,
  ],
  [
    'two faults in one row',
    'machines',
    machine(',Owner,Tape', `A-1,${TYPE},North,stolen,sticky`),
    3,
    'Owner',
    'NO_CHOICE',
    /none/,
    /Write/,
  ],
  ['no zone', 'warehouses', 'Warehouse,Time zone\nHall,CET+1\n', 2, 'Time zone', 'NO_ZONE', /no time zone/, /Europe\/Berlin/],
  ['an offset for a zone', 'warehouses', 'Warehouse,Time zone\nHall,+02:00\n', 2, 'Time zone', 'NO_ZONE', /no time zone/, /no offset/],
  [
    'a negative cost',
    'warehouses',
    'Warehouse,Time zone,Labour cost an hour\nHall,Europe/Paris,-5\n',
    2,
    'Labour cost an hour',
    'TOO_SMALL',
    /below 0/,
    /at least 0/,
  ],
  [
    'a cost with its currency',
    'warehouses',
    'Warehouse,Time zone,Labour cost an hour\nHall,Europe/Paris,40 EUR\n',
    2,
    'Labour cost an hour',
    'NO_NUMBER',
    /no number/,
    /without a unit/,
  ],
  [
    'half a place in the walk',
    'stations',
    'Warehouse,Station,Place in the walk\nNorth,B01,1.5\n',
    2,
    'Place in the walk',
    'NOT_WHOLE',
    /no whole number/,
    /Round/,
  ],
  [
    'no strips a carton',
    'stations',
    'Warehouse,Station,Strips a carton\nNorth,B01,0\n',
    2,
    'Strips a carton',
    'TOO_SMALL',
    /below 0.01/,
    /at least/,
  ],
  [
    'a thousand strips a carton',
    'stations',
    'Warehouse,Station,Strips a carton\nNorth,B01,1000\n',
    2,
    'Strips a carton',
    'TOO_LARGE',
    /above 100/,
    /at most/,
  ],
  ['a name of 101 letters', 'stations', `Warehouse,Station\nNorth,${'B'.repeat(101)}\n`, 2, 'Station', 'TOO_LONG', /101 characters/, /100/],
  [
    'a comma among points',
    'evidence',
    'Label code;Date;Value\nN-01;2026-04-01;1000.5\nN-01;2026-04-02;1001,55\n',
    3,
    'Value',
    'DECIMAL_MARK',
    /decimal point/,
    /throughout/,
    { decimalMark: '.' },
  ],
  ['a reading that is no number', 'evidence', reading('N-01,2026-04-02,lots'), 3, 'Value', 'NO_NUMBER', /no number/, /digits only/],
  ['a negative reading', 'evidence', reading('N-01,2026-04-02,-3'), 3, 'Value', 'TOO_SMALL', /below 0/, /at least 0/],
  [
    'a reading of an unknown machine',
    'evidence',
    reading('X-99,2026-04-02,1100'),
    3,
    'Label code',
    'UNKNOWN_MACHINE',
    /no machine/,
    /machines first/,
  ],
  [
    'a counter that runs backwards',
    'evidence',
    reading('N-01,2026-04-02,900'),
    3,
    'Value',
    'RUNS_BACKWARDS',
    /runs backwards/,
    /counter was replaced/,
  ],
  [
    'more than it can cut',
    'evidence',
    reading('N-01,2026-04-02,900000'),
    3,
    'Value',
    'MORE_THAN_IT_CAN_CUT',
    /more than the machine can cut/,
    /Correct the value/,
  ],
  ['a reading of tomorrow', 'evidence', reading('N-01,2026-05-06,1100'), 3, 'Date', 'IN_THE_FUTURE', /future/, /Correct/],
  ['25 o’clock', 'evidence', 'Label code,Date,Time,Value\nN-01,2026-04-02,25:00,1100\n', 2, 'Time', 'NO_TIME', /no time/, /06:30/],
  [
    'a kind that there is not',
    'evidence',
    'Label code,Kind,Date,Value\nN-01,guess,2026-04-02,1100\n',
    2,
    'Kind',
    'NO_CHOICE',
    /none of the words/,
    /‘counter reading’ or ‘strips a day’/,
  ],
  [
    'an unknown component',
    'components',
    'Label code,Component\nN-01,warp core\n',
    2,
    'Component',
    'UNKNOWN_COMPONENT',
    /no component/,
    /names/,
  ],
  [
    'a component fitted tomorrow',
    'components',
    'Label code,Component,Fitted new on\nN-01,blade,2026-05-05\n',
    2,
    'Fitted new on',
    'IN_THE_FUTURE',
    /future/,
    /date/,
  ],
  ['an unknown task', 'service_history', care('N-01,Polish it,2026-01-01'), 3, 'Task', 'UNKNOWN_TASK', /no task/, /service plan/],
  ['care that is still to come', 'service_history', care('N-01,check_chain,2026-05-05'), 3, 'Done on', 'IN_THE_FUTURE', /future/, /date/],
  ['care without a day', 'service_history', care('N-01,check_chain,'), 3, 'Done on', 'MISSING', /is empty/, /Done on/],
]

it('are sixty or more', () => expect(files.length + rows.length).toBeGreaterThanOrEqual(60))

describe('a file that cannot be read as a whole', () => {
  it.each(files)('%s', async (_what, kind, content, code, words) => {
    const { status, body } = await importer.upload(kind, content)
    expect([status, body.code]).toEqual([422, code])
    expect(body.detail).toMatch(words)
    expect((await us.manager('GET', 'imports?limit=200')).body.items.filter((one: { state: string }) => one.state === 'reading')).toEqual(
      [],
    )
  })
})

describe('a row that cannot be taken', () => {
  it.each(rows)('%s', async (_what, kind, content, line, column, code, problem, remedy, settings = {}) => {
    const checked = await importer.check(kind, content, settings)
    expect(checked.state).toBe('checked')
    const refused = await importer.rows(checked.id, 'refused')
    expect(refused.map((row) => [row.line, row.faults[0].column, row.faults[0].code])).toEqual([[line, column, code]])
    expect(refused[0].faults[0].problem).toMatch(problem)
    expect(refused[0].faults[0].remedy).toMatch(remedy)
    if (_what.startsWith('two faults')) expect(refused[0].faults).toHaveLength(2)
  })
})
