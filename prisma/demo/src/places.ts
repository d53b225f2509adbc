/** Warehouses with their calendars, stations, people and who is on duty where. */
import { newId } from '@tapewarden/platform'
import { addDays, monthDay } from './days.js'
import type { Rows } from './rows.js'
import { emailOf, ON_DUTY, PEOPLE, type PersonScenario, WAREHOUSES, type WarehouseScenario } from './scenario.js'

export interface Hall extends WarehouseScenario {
  id: string
  today: string
  /** Every closed date and every peak of the last two years and the next. */
  closed: Set<string>
  peaks: { from: string; to: string; multiplier: number }[]
  stations: { id: string; line: string; name: string; stripsPerCarton: number }[]
}

/** First cover what the person of the sign-in role; the hash is null where a person has no password. */
export function addPeople(rows: Rows, now: string, hashFor: (person: PersonScenario) => string | null): Map<string, string> {
  const ids = new Map<string, string>()
  for (const person of PEOPLE) {
    const id = newId()
    ids.set(person.key, id)
    rows.add('person', {
      id,
      name: person.name,
      email: emailOf(person),
      role: person.role,
      language: person.language,
      units: person.units,
      electrically_qualified: person.electrical,
      password_hash: hashFor(person),
      lead_days: 7,
      created_at: now,
      version: 1,
    })
  }
  return ids
}

export function addHalls(rows: Rows, people: Map<string, string>, now: string, todayIn: (zone: string) => string): Hall[] {
  return WAREHOUSES.map((scenario) => {
    const hall: Hall = { ...scenario, id: newId(), today: todayIn(scenario.zone), closed: new Set(), peaks: [], stations: [] }
    const [first, second] = ON_DUTY[scenario.key]
    rows.add('warehouse', {
      id: hall.id,
      name: hall.name,
      zone: hall.zone,
      address: hall.address,
      water_hardness: hall.waterHardness,
      currency: hall.currency,
      labour_cost_per_hour: hall.labourCostPerHour,
      stoppage_cost_per_hour: hall.stoppageCostPerHour,
      units: hall.units,
      first_person_id: people.get(first),
      second_person_id: people.get(second),
      evidence_version: 1,
      planned_version: 0,
      version: 1,
      created_at: now,
    })
    for (const [day, starts, ends] of hall.shifts) rows.add('shift', { id: newId(), warehouse_id: hall.id, weekday: day, starts, ends })
    addCalendar(rows, hall)
    addStations(rows, hall)
    for (const person of PEOPLE)
      if (person.serves.includes(hall.key)) rows.add('person_warehouse', { person_id: people.get(person.key), warehouse_id: hall.id })
    return hall
  })
}

function addCalendar(rows: Rows, hall: Hall): void {
  const thisYear = Number(hall.today.slice(0, 4))
  for (let year = thisYear - 2; year <= thisYear + 1; year++) {
    for (const [from, to, reason] of hall.closures) {
      rows.add('closure', { id: newId(), warehouse_id: hall.id, from_date: `${year}-${from}`, to_date: `${year}-${to}`, reason })
      for (let date = `${year}-${from}`; monthDay(date) <= to; date = addDays(date, 1)) hall.closed.add(date)
    }
    const { from, to, multiplier, bars } = hall.peak
    hall.peaks.push({ from: `${year}-${from}`, to: `${year}-${to}`, multiplier })
    rows.add('peak', {
      id: newId(),
      warehouse_id: hall.id,
      name: `Peak ${year}`,
      from_date: `${year}-${from}`,
      to_date: `${year}-${to}`,
      usage_multiplier: multiplier,
      bars,
    })
  }
}

function addStations(rows: Rows, hall: Hall): void {
  let order = 0
  for (const [line, count] of hall.lines)
    for (let number = 1; number <= count; number++) {
      const name = `${line.slice(0, 1)}${String(number).padStart(2, '0')}`
      const station = { id: newId(), line, name, stripsPerCarton: line === 'Oversize' ? 3.2 : line === 'Returns' ? 1.4 : 2.1 }
      hall.stations.push(station)
      rows.add('station', {
        id: station.id,
        warehouse_id: hall.id,
        name,
        line,
        walking_order: ++order * 10,
        if_stopped: line === 'Returns' ? 'goes_on' : count > 8 ? 'slows' : 'stops',
        strips_per_carton: station.stripsPerCarton,
        version: 1,
      })
    }
}
