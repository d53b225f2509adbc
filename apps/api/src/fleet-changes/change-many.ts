import { InvalidError } from '@tapewarden/platform'
import type { FleetChange, RouteBody, Routes } from '@tapewarden/shared'
import { type MachineNow, machineNow } from '../machines/machine-now.js'
import { putElsewhere, putFields, putStatus } from '../machines/move.js'
import type { Changing } from '../use/work.js'
import { type Effect, recordChange } from './record.js'

type Body = RouteBody<Routes['changeMachines']>

const FIELD_WORDS: Readonly<Record<string, string>> = {
  commissionedOn: 'commissioned on',
  owner: 'owner',
  warrantyUntil: 'warranty until',
  serviceFirm: 'service firm',
  serviceTelephone: 'its telephone',
  mayOpen: 'who may open',
  tape: 'tape',
  note: 'note',
}
const say = (value: unknown): string => (value === null || value === '' ? 'not known' : String(value).replaceAll('_', ' '))

/** What a person reads in the list of changes. */
async function wordsFor(changing: Changing, { fields, status, place }: Body): Promise<string> {
  const words = Object.entries(fields ?? {}).map(([key, value]) => `${FIELD_WORDS[key] ?? key}: ${say(value)}`)
  if (status) words.push(`${say(status.status)}${status.reason ? ` (${status.reason})` : ''}`)
  if (place) {
    const { name } = await changing.one<{ name: string }>(
      'warehouse',
      `SELECT name FROM warehouse WHERE organisation_id = $1 AND id = $2`,
      [place.warehouseId],
    )
    words.push(`moved to ${name}`)
  }
  return words.join('; ')
}

const pick = (machine: MachineNow, keys: readonly string[]): Record<string, unknown> =>
  Object.fromEntries(keys.map((key) => [key, machine[key as keyof MachineNow]]))

/** Through the same use cases as one by one, so that every guard, clock and audit entry is theirs. */
async function changeOne(changing: Changing, machineId: string, { fields, status, place }: Body): Promise<Effect> {
  const { machine, placed } = await machineNow(changing, machineId)
  const effect: Effect = { machineId, labelCode: machine.labelCode }
  const keys = Object.keys(fields ?? {})
  if (keys.length > 0) {
    const { before, after } = await putFields(changing, machineId, fields ?? {})
    effect.fields = { before: pick(before, keys), after: pick(after, keys) }
  }
  if (place && (placed?.warehouseId !== place.warehouseId || placed.stationId !== place.stationId)) {
    const after = { ...place, shareOfStation: 1 }
    await putElsewhere(changing, machineId, after)
    effect.place = { before: placed, after }
  }
  if (status && status.status !== machine.status) {
    await putStatus(changing, machineId, status)
    effect.status = { before: machine.status, after: status.status }
  }
  return effect
}

/** Their rows are nobody else's until the end, so that what was read before a change is what was changed. */
async function lockAll(changing: Changing, ids: readonly string[]): Promise<void> {
  await changing.rows(`SELECT id FROM machine WHERE organisation_id = $1 AND id = ANY($2::uuid[]) ORDER BY id FOR NO KEY UPDATE`, [ids])
}

async function versionsOf(changing: Changing, effects: readonly Effect[]): Promise<void> {
  const rows = await changing.rows<{ id: string; version: number }>(
    `SELECT id, version FROM machine WHERE organisation_id = $1 AND id = ANY($2::uuid[])`,
    [effects.map(({ machineId }) => machineId)],
  )
  const known = new Map(rows.map(({ id, version }) => [id, version]))
  for (const effect of effects) effect.version = known.get(effect.machineId) ?? 1
}

/** All or none: half a list changed is a list that nobody can trust. */
export async function changeMachines(changing: Changing, body: Body): Promise<FleetChange> {
  const ids = [...new Set(body.machineIds)].sort()
  const words = await wordsFor(changing, body)
  await lockAll(changing, ids)
  const effects: Effect[] = []
  for (const id of ids) {
    const effect = await changeOne(changing, id, body)
    if (effect.fields || effect.status || effect.place) effects.push(effect)
  }
  await versionsOf(changing, effects)
  if (effects.length === 0) throw new InvalidError('NOTHING_CHANGED', 'All of these machines are so already.')
  return recordChange(
    changing,
    'changed',
    words,
    effects,
    effects.flatMap(({ place }) => (place ? [place.before?.warehouseId ?? null, place.after.warehouseId] : [])),
  )
}
