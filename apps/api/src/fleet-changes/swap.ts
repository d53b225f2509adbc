import { ConflictError, InvalidError } from '@tapewarden/platform'
import type { FleetChange, RouteBody, Routes } from '@tapewarden/shared'
import { getMachine } from '../machines/machine-detail.js'
import { machineNow } from '../machines/machine-now.js'
import { putElsewhere, putStatus } from '../machines/move.js'
import type { Changing } from '../use/work.js'
import { type Effect, recordChange } from './record.js'

/**
 * A spare takes a machine's place in one go: the one leaves its station for the bench, the shelf or for good, the other comes into
 * service there. Each keeps its own history and clocks.
 */
export async function swapMachine(
  changing: Changing,
  machineId: string,
  { spareMachineId, status, reason }: RouteBody<Routes['swapMachine']>,
): Promise<FleetChange> {
  if (machineId === spareMachineId) throw new InvalidError('SAME_MACHINE', 'A machine cannot take its own place.', '/spareMachineId')
  const [{ machine: leaves, placed: place }, { machine: comes, placed: spareWas }] = [
    await machineNow(changing, machineId),
    await machineNow(changing, spareMachineId),
  ]
  if (!place) throw new InvalidError('NOWHERE', `${leaves.labelCode} stands nowhere, so nothing can take its place.`)
  if (comes.status === 'retired') throw new InvalidError('RETIRED', `${comes.labelCode} is retired.`, '/spareMachineId')
  if (comes.status === 'tagged_out')
    throw new ConflictError('TAGGED_OUT', `${comes.labelCode} is tagged out: it is no spare until its tag is taken off.`)
  if (comes.status === 'in_service' && spareWas?.stationId) {
    const { station } = await getMachine(changing, spareMachineId)
    throw new ConflictError('IN_USE', `${comes.labelCode} works at ${station?.name ?? 'a station'}: take one that is free.`)
  }
  // The station is left first, so that the shares of what stands there never add up to more than its work.
  const off = { warehouseId: place.warehouseId, stationId: null, shareOfStation: 1 }
  await putElsewhere(changing, machineId, off)
  await putStatus(changing, machineId, { status, reason: reason || `${comes.labelCode} took its place` })
  await putElsewhere(changing, spareMachineId, place)
  if (comes.status !== 'in_service')
    await putStatus(changing, spareMachineId, { status: 'in_service', reason: `took the place of ${leaves.labelCode}` })
  const effects: Effect[] = [
    { machineId, labelCode: leaves.labelCode, place: { before: place, after: off }, status: { before: leaves.status, after: status } },
    {
      machineId: spareMachineId,
      labelCode: comes.labelCode,
      place: { before: spareWas, after: place },
      ...(comes.status === 'in_service' ? {} : { status: { before: comes.status, after: 'in_service' as const } }),
    },
  ]
  const words = `${comes.labelCode} took the place of ${leaves.labelCode} (${status.replaceAll('_', ' ')})`
  return recordChange(changing, 'swapped', words, effects, [place.warehouseId, spareWas?.warehouseId ?? null])
}
