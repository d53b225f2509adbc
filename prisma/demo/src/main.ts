/**
 * Loads the demo into a database that holds no organisation. Reads {kind, passwords} from standard input,
 * prints {loaded, summary, signIns}. Everything is relative to today and made from one seed.
 */
import { hash } from '@node-rs/argon2'
import { createClock, newId, parseOffset } from '@tapewarden/platform'
import pg from 'pg'
import { addBrushLengths, addCare, addStoppages, type TaskOfType } from './care.js'
import { localDate, addDays } from './days.js'
import { insertAll } from './insert.js'
import { addMachines, addRemovedBlades, type DemoMachine } from './machines.js'
import { addHalls, addPeople } from './places.js'
import { Random } from './random.js'
import { type Row, Rows } from './rows.js'
import { emailOf, ORGANISATION, PEOPLE } from './scenario.js'
import { addComponentTypes, addParts, addTypes } from './types.js'
import { addAllEvidence, makeUse } from './use.js'

interface Asked {
  kind: 'full' | 'empty'
  passwords: Record<string, string>
}

const SEED = 20_240_517

async function readAsked(): Promise<Asked> {
  let text = ''
  for await (const piece of process.stdin) text += String(piece)
  return JSON.parse(text) as Asked
}

/** The demo's now: the database's clock, moved like the processes' own. */
async function readNow(client: pg.PoolClient): Promise<Date> {
  const { CLOCK_AT, CLOCK_OFFSET } = process.env
  const ask = async (): Promise<Date> => (await client.query<{ now: Date }>('SELECT clock_timestamp() AS now')).rows[0]?.now ?? new Date(0)
  const clockOffsetMs = CLOCK_OFFSET ? (parseOffset(CLOCK_OFFSET) ?? 0) : 0
  return createClock({ clockAt: CLOCK_AT ? new Date(CLOCK_AT) : undefined, clockOffsetMs, production: false }, ask).now()
}

function addFleet(rows: Rows, people: Map<string, string>, now: Date): DemoMachine[] {
  const nowIso = now.toISOString()
  const random = new Random(SEED)
  const components = addComponentTypes(rows)
  const halls = addHalls(rows, people, nowIso, (zone) => localDate(zone, now))
  const types = addTypes(rows, components, nowIso, addDays(nowIso.slice(0, 10), -560))
  const machines = addMachines(rows, halls, types, components, random, nowIso)
  addRemovedBlades(rows, machines, components, random)
  addParts(rows, types, components, halls)
  for (const type of types.values())
    for (const person of PEOPLE)
      if (person.role === 'instructed' && type.drive === 'electric')
        rows.add('instruction', {
          id: newId(),
          person_id: people.get(person.key),
          machine_type_id: type.id,
          instructed_on: addDays(nowIso.slice(0, 10), -300),
          instructed_by: 'Henrik Osei',
        })
  const uses = machines.map((machine) => makeUse(machine, random))
  addAllEvidence(rows, uses, random)

  const componentKeys = new Map([...components].map(([key, id]) => [id, key]))
  const planTasks = rows.byTable.get('plan_task') ?? []
  const tasksOf = (machine: DemoMachine): TaskOfType[] =>
    planTasks.filter((row) => row.service_plan_id === machine.type.planId).map((row) => asTask(row, machine, componentKeys))
  const workers = { north: ['ines', 'henrik'], prairie: ['cole', 'tamsin'], harbour: ['bree', 'joel'] } as const
  const byWhom = (machine: DemoMachine, monthly: boolean): { id: string; name: string } => {
    const key = workers[machine.hall.key][monthly ? 0 : 1]
    return { id: people.get(key) as string, name: PEOPLE.find((person) => person.key === key)?.name ?? '' }
  }
  addCare(rows, machines, (machine) => tasksOf(machine).filter(({ key }) => key !== 'measure_motor_brushes'), byWhom, random)
  addBrushLengths(rows, uses, tasksOf, (machine) => byWhom(machine, false), random)
  addStoppages(rows, machines, components, now, random)
  return machines
}

function asTask(row: Row, machine: DemoMachine, componentKeys: Map<unknown, string>): TaskOfType {
  const key = [...machine.type.tasks].find(([, id]) => id === row.service_task_id)?.[0] ?? ''
  return {
    serviceTaskId: row.service_task_id as string,
    key,
    triggers: row.triggers as TaskOfType['triggers'],
    componentKey: componentKeys.get(row.component_type_id) ?? null,
  }
}

async function load(client: pg.PoolClient, { kind, passwords }: Asked): Promise<object> {
  const { rows: present } = await client.query('SELECT 1 FROM directory_organisations() LIMIT 1')
  if (present.length > 0) return { loaded: false, summary: '', signIns: [] }
  const now = await readNow(client)
  const rows = new Rows(newId())
  rows.byTable.set('organisation', [{ id: rows.organisationId, name: ORGANISATION, created_at: now.toISOString() }])
  const hashes = new Map(
    await Promise.all(Object.entries(passwords).map(async ([role, password]) => [role, await hash(password)] as const)),
  )
  const people = addPeople(rows, now.toISOString(), (person) => (person.signsIn ? (hashes.get(person.role) ?? null) : null))
  if (kind === 'full') addFleet(rows, people, now)
  else addComponentTypes(rows)
  await insertAll(client, rows)
  const signIns = PEOPLE.filter((person) => person.signsIn).map((person) => ({
    role: person.role,
    name: person.name,
    email: emailOf(person),
    password: passwords[person.role],
  }))
  return {
    loaded: true,
    summary: `${rows.count('warehouse')} warehouses, ${rows.count('machine')} machines, ${rows.count('evidence')} pieces of evidence, ${rows.count('person')} people`,
    signIns,
  }
}

const pool = new pg.Pool({ connectionString: process.env.DATABASE_URL, max: 1 })
const client = await pool.connect()
console.log(JSON.stringify(await load(client, await readAsked())))
client.release()
await pool.end()
