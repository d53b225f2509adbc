/** The invented firm: its halls, machine types and people. Names, addresses and figures are made up for the demo. */

export const ORGANISATION = 'Marrow Lane Parcels'

export interface WarehouseScenario {
  key: 'north' | 'prairie' | 'harbour'
  name: string
  zone: string
  address: string
  waterHardness: 'soft' | 'medium' | 'hard'
  currency: string
  labourCostPerHour: number
  stoppageCostPerHour: number
  units: 'si' | 'us'
  /** ISO weekday, start, end. */
  shifts: [number, string, string][]
  closures: [string, string, string][]
  peak: { from: string; to: string; multiplier: number; bars: 'nothing' | 'no_visits' | 'short_care_only' }
  lines: [string, number][]
}

const WEEK = [1, 2, 3, 4, 5]

export const WAREHOUSES: WarehouseScenario[] = [
  {
    key: 'north',
    name: 'Hall North',
    zone: 'Europe/Berlin',
    address: 'Kranichweg 4, Ostermoor',
    waterHardness: 'hard',
    currency: 'EUR',
    labourCostPerHour: 48,
    stoppageCostPerHour: 95,
    units: 'si',
    shifts: WEEK.flatMap((day): [number, string, string][] => [
      [day, '06:00', '14:00'],
      [day, '14:00', '22:00'],
    ]),
    closures: [
      ['12-24', '12-26', 'Christmas'],
      ['01-01', '01-01', 'New Year'],
      ['05-01', '05-01', 'May Day'],
    ],
    peak: { from: '11-15', to: '12-23', multiplier: 1.8, bars: 'no_visits' },
    lines: [
      ['A', 12],
      ['B', 10],
      ['Returns', 4],
    ],
  },
  {
    key: 'prairie',
    name: 'Prairie Dock',
    zone: 'America/Chicago',
    address: '210 Larkspur Road, Millbrook Flats',
    waterHardness: 'medium',
    currency: 'USD',
    labourCostPerHour: 52,
    stoppageCostPerHour: 120,
    units: 'us',
    shifts: [...WEEK.map((day): [number, string, string] => [day, '07:00', '17:30']), [6, '07:00', '12:00']],
    closures: [
      ['12-25', '12-25', 'Christmas'],
      ['01-01', '01-01', 'New Year'],
      ['07-04', '07-04', 'Independence Day'],
    ],
    peak: { from: '11-20', to: '12-20', multiplier: 1.6, bars: 'short_care_only' },
    lines: [
      ['Parcel', 13],
      ['Oversize', 6],
    ],
  },
  {
    key: 'harbour',
    name: 'Harbour Shed',
    zone: 'Australia/Sydney',
    address: '9 Limpet Street, Wattle Point',
    waterHardness: 'soft',
    currency: 'AUD',
    labourCostPerHour: 60,
    stoppageCostPerHour: 70,
    units: 'si',
    shifts: WEEK.map((day): [number, string, string] => [day, '08:00', '16:00']),
    closures: [
      ['12-25', '12-28', 'Christmas'],
      ['01-01', '01-01', 'New Year'],
      ['01-26', '01-26', 'National day'],
    ],
    peak: { from: '12-01', to: '12-23', multiplier: 1.4, bars: 'nothing' },
    lines: [['Main', 12]],
  },
]

export interface TypeScenario {
  key: string
  name: string
  drive: 'electric' | 'hand'
  supply: 'cord_and_plug' | 'wired_in' | 'none'
  heater: boolean
  feltBehindCover: boolean
  shortestStripMm: number
  longestStripMm: number
  lengthKeysMm: number[]
  freeLength: boolean
  meanStripMm: number
  feedSpeedMPerMin: number | null
  startUpSeconds: number | null
  mostStripsPerMinute: number | null
  counterKind: 'none' | 'strips' | 'metres'
  counterModulus: number | null
  usualStripsPerDay: number
  stripsFromNewToPlanLimit: number | null
}

export const TYPES: TypeScenario[] = [
  {
    key: 'keys_heated',
    name: 'Bench electric, length keys, heated',
    drive: 'electric',
    supply: 'cord_and_plug',
    heater: true,
    feltBehindCover: false,
    shortestStripMm: 150,
    longestStripMm: 1100,
    lengthKeysMm: [150, 300, 450, 600, 750, 900, 1100],
    freeLength: false,
    meanStripMm: 480,
    feedSpeedMPerMin: 60,
    startUpSeconds: 0.25,
    mostStripsPerMinute: 40,
    counterKind: 'none',
    counterModulus: null,
    usualStripsPerDay: 800,
    stripsFromNewToPlanLimit: 420_000,
  },
  {
    key: 'counting',
    name: 'Bench electric with strip counter',
    drive: 'electric',
    supply: 'cord_and_plug',
    heater: true,
    feltBehindCover: false,
    shortestStripMm: 150,
    longestStripMm: 1500,
    lengthKeysMm: [150, 300, 450, 600, 900, 1200, 1500],
    freeLength: true,
    meanStripMm: 520,
    feedSpeedMPerMin: 65,
    startUpSeconds: 0.2,
    mostStripsPerMinute: 45,
    counterKind: 'strips',
    counterModulus: 1_000_000,
    usualStripsPerDay: 900,
    stripsFromNewToPlanLimit: 450_000,
  },
  {
    key: 'long_wired',
    name: 'Line electric, long strips, wired in',
    drive: 'electric',
    supply: 'wired_in',
    heater: true,
    feltBehindCover: true,
    shortestStripMm: 300,
    longestStripMm: 2500,
    lengthKeysMm: [],
    freeLength: true,
    meanStripMm: 950,
    feedSpeedMPerMin: 70,
    startUpSeconds: 0.3,
    mostStripsPerMinute: 30,
    counterKind: 'metres',
    counterModulus: 1_000_000,
    usualStripsPerDay: 1100,
    stripsFromNewToPlanLimit: 380_000,
  },
  {
    key: 'small',
    name: 'Small electric, cold water',
    drive: 'electric',
    supply: 'cord_and_plug',
    heater: false,
    feltBehindCover: false,
    shortestStripMm: 120,
    longestStripMm: 800,
    lengthKeysMm: [120, 240, 360, 480, 800],
    freeLength: false,
    meanStripMm: 340,
    feedSpeedMPerMin: 50,
    startUpSeconds: 0.25,
    mostStripsPerMinute: 35,
    counterKind: 'none',
    counterModulus: null,
    usualStripsPerDay: 450,
    stripsFromNewToPlanLimit: 400_000,
  },
  {
    key: 'lever',
    name: 'Lever, hand-driven',
    drive: 'hand',
    supply: 'none',
    heater: false,
    feltBehindCover: false,
    shortestStripMm: 150,
    longestStripMm: 900,
    lengthKeysMm: [],
    freeLength: true,
    meanStripMm: 400,
    feedSpeedMPerMin: null,
    startUpSeconds: null,
    mostStripsPerMinute: 25,
    counterKind: 'none',
    counterModulus: null,
    usualStripsPerDay: 150,
    stripsFromNewToPlanLimit: null,
  },
]

export interface PersonScenario {
  key: string
  name: string
  role: 'administrator' | 'manager' | 'technician' | 'instructed'
  language: 'en' | 'de'
  units: 'si' | 'us'
  electrical: boolean
  serves: WarehouseScenario['key'][]
  signsIn: boolean
}

export const PEOPLE: PersonScenario[] = [
  {
    key: 'odile',
    name: 'Odile Brandvold',
    role: 'administrator',
    language: 'en',
    units: 'si',
    electrical: false,
    serves: ['north', 'prairie', 'harbour'],
    signsIn: true,
  },
  {
    key: 'maren',
    name: 'Maren Tolk',
    role: 'manager',
    language: 'en',
    units: 'si',
    electrical: false,
    serves: ['north', 'prairie', 'harbour'],
    signsIn: true,
  },
  {
    key: 'ansel',
    name: 'Ansel Quarry',
    role: 'manager',
    language: 'en',
    units: 'us',
    electrical: false,
    serves: ['prairie'],
    signsIn: false,
  },
  {
    key: 'henrik',
    name: 'Henrik Osei',
    role: 'technician',
    language: 'de',
    units: 'si',
    electrical: true,
    serves: ['north'],
    signsIn: false,
  },
  {
    key: 'tamsin',
    name: 'Tamsin Reyes',
    role: 'technician',
    language: 'en',
    units: 'us',
    electrical: false,
    serves: ['prairie', 'harbour'],
    signsIn: true,
  },
  {
    key: 'joel',
    name: 'Joel Wanjiru',
    role: 'technician',
    language: 'en',
    units: 'si',
    electrical: true,
    serves: ['harbour', 'north'],
    signsIn: false,
  },
  { key: 'ines', name: 'Ines Falk', role: 'instructed', language: 'de', units: 'si', electrical: false, serves: ['north'], signsIn: false },
  {
    key: 'cole',
    name: 'Cole Abernathy',
    role: 'instructed',
    language: 'en',
    units: 'us',
    electrical: false,
    serves: ['prairie'],
    signsIn: false,
  },
  {
    key: 'bree',
    name: 'Bree Nakata',
    role: 'instructed',
    language: 'en',
    units: 'si',
    electrical: false,
    serves: ['harbour'],
    signsIn: true,
  },
]

export const emailOf = (person: PersonScenario): string => `${person.name.toLowerCase().replaceAll(' ', '.')}@marrowlane.example`

/** First and second person of each warehouse. */
export const ON_DUTY: Record<WarehouseScenario['key'], [string, string]> = {
  north: ['maren', 'henrik'],
  prairie: ['maren', 'ansel'],
  harbour: ['maren', 'joel'],
}

/** Type of the machines along each line, repeated as often as needed. */
export const TYPES_BY_LINE: Record<string, string[]> = {
  A: ['counting', 'counting', 'keys_heated'],
  B: ['keys_heated', 'keys_heated', 'small'],
  Returns: ['lever', 'small'],
  Parcel: ['counting', 'keys_heated', 'keys_heated', 'small'],
  Oversize: ['long_wired'],
  Main: ['small', 'keys_heated', 'lever'],
}
