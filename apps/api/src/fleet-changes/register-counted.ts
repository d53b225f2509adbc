import type { RouteBody, RouteResult, Routes } from '@tapewarden/shared'
import { freeLabels } from '../machines/free-labels.js'
import { createMachines } from '../machines/register.js'
import type { Changing } from '../use/work.js'
import { recordChange } from './record.js'

/** So many machines of one type: labels counted on, the serial number not known until somebody reads it off the plate. */
export async function registerCounted(
  changing: Changing,
  body: RouteBody<Routes['registerCounted']>,
): Promise<RouteResult<Routes['registerCounted']>> {
  const { count, labelPrefix, warehouseId, ...facts } = body
  const labels = await freeLabels(changing, labelPrefix, count)
  const { items } = await createMachines(changing, {
    machines: labels.map((labelCode) => ({
      ...facts,
      labelCode,
      serialNumber: labelCode,
      status: 'in_service' as const,
      placement: { warehouseId, stationId: null, shareOfStation: 1 },
    })),
  })
  const words = `registered: ${labels.length === 1 ? labels[0] : `${labels[0]} to ${labels.at(-1)}`}`
  const effects = items.map(({ id, labelCode }) => ({ machineId: id, labelCode }))
  return { change: await recordChange(changing, 'registered', words, effects, [warehouseId]), machines: items }
}
