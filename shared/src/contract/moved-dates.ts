/** Dates that a change would move, before it is made: computed by the planner itself, nothing kept. */
import { z } from 'zod'

const previewedDaySchema = z.object({ state: z.string(), dueOn: z.string().nullable() })

export const movedDateSchema = z.object({
  machineId: z.string(),
  labelCode: z.string(),
  warehouseName: z.string(),
  taskKey: z.string(),
  taskName: z.string(),
  before: previewedDaySchema.nullable(),
  after: previewedDaySchema.nullable(),
  /** null where one side has no day. */
  days: z.number().int().nullable(),
  lastDoneOn: z.string().nullable(),
})
export type MovedDate = z.infer<typeof movedDateSchema>

export const movedDatesShape = {
  movedCount: z.number().int(),
  /** The largest moves first; at most 400. */
  moves: z.array(movedDateSchema),
}
