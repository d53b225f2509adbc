/** Columns of what tells how much was cut: readings and strips, cartons at a station, rolls used, a word a month. */
import { type FieldDefinition, LABEL, WAREHOUSE } from './field.js'

export const EVIDENCE_FIELDS: readonly FieldDefinition[] = [
  LABEL,
  {
    key: 'kind',
    label: 'Kind',
    type: 'choice',
    choices: {
      counter_reading: ['counter reading', 'counter', 'reading', 'zaehlerstand'],
      strips_day: ['strips a day', 'strips', 'streifen'],
    },
    synonyms: ['art', 'what'],
    example: 'counter reading',
  },
  {
    key: 'day',
    label: 'Date',
    required: true,
    type: 'date',
    synonyms: ['day', 'on', 'datum', 'tag', 'fecha', 'readat'],
    example: '2026-04-01',
  },
  { key: 'time', label: 'Time', type: 'time', synonyms: ['hour', 'uhrzeit', 'zeit'], example: '06:30' },
  {
    key: 'amount',
    label: 'Value',
    required: true,
    type: 'number',
    least: 0,
    most: 1e12,
    synonyms: ['reading', 'amount', 'count', 'counter', 'wert', 'stand', 'strips', 'valor'],
    example: '120500',
  },
]

export const CARTONS_FIELDS: readonly FieldDefinition[] = [
  WAREHOUSE,
  {
    key: 'station',
    label: 'Station',
    required: true,
    type: 'text',
    longest: 100,
    synonyms: ['name', 'place', 'platz', 'packplatz', 'poste', 'puesto'],
    example: 'A01',
  },
  {
    key: 'day',
    label: 'Date',
    required: true,
    type: 'date',
    synonyms: ['day', 'on', 'datum', 'tag', 'fecha', 'jour'],
    example: '2026-04-01',
  },
  {
    key: 'cartons',
    label: 'Cartons',
    required: true,
    type: 'number',
    least: 0,
    most: 1e9,
    synonyms: ['boxes', 'parcels', 'count', 'amount', 'kartons', 'pakete', 'colis', 'cajas'],
    example: '420',
  },
]

export const ROLLS_FIELDS: readonly FieldDefinition[] = [
  LABEL,
  {
    key: 'fromDate',
    label: 'From',
    required: true,
    type: 'date',
    synonyms: ['firstday', 'begin', 'start', 'von', 'desde'],
    example: '2026-04-01',
  },
  {
    key: 'toDate',
    label: 'To',
    required: true,
    type: 'date',
    synonyms: ['lastday', 'until', 'end', 'bis', 'hasta'],
    example: '2026-04-30',
  },
  {
    key: 'rolls',
    label: 'Rolls used',
    required: true,
    type: 'number',
    least: 0,
    most: 1e6,
    synonyms: ['rolls', 'count', 'amount', 'rollen', 'rouleaux', 'rollos'],
    example: '12',
  },
  {
    key: 'rollMetres',
    label: 'Metres a roll',
    required: true,
    type: 'number',
    least: 0.1,
    most: 10_000,
    synonyms: ['rollmetres', 'rolllength', 'metres', 'meters', 'rollenlange'],
    example: '150',
  },
]

export const TAPS_FIELDS: readonly FieldDefinition[] = [
  LABEL,
  { key: 'month', label: 'Month', required: true, type: 'month', synonyms: ['monat', 'mois', 'mes', 'in'], example: '2026-04' },
  {
    key: 'runs',
    label: 'Runs',
    required: true,
    type: 'choice',
    choices: {
      all_day: ['all day', 'always'],
      some_hours: ['some hours', 'half'],
      seldom: ['seldom', 'rarely'],
      dont_know: ['not known', 'unknown', "don't know"],
    },
    synonyms: ['use', 'runs', 'howmuch', 'lauft', 'nutzung'],
    example: 'some hours',
  },
]
