import { InvalidError } from '@tapewarden/platform'
import type { Changing } from '../use/work.js'

/** Somebody who may work there and is not disabled. */
export async function checkTechnician(
  changing: Changing,
  personId: string | null | undefined,
  warehouseId: string,
  pointer: string,
): Promise<void> {
  if (!personId) return
  const person = await changing.maybeOne<{ serves: boolean }>(
    `SELECT p.role IN ('administrator', 'manager') OR EXISTS (SELECT 1 FROM person_warehouse w WHERE w.organisation_id = $1 AND w.person_id = p.id AND w.warehouse_id = $3) AS serves
     FROM person p WHERE p.organisation_id = $1 AND p.id = $2 AND p.disabled_at IS NULL AND p.role <> 'instructed'`,
    [personId, warehouseId],
  )
  if (!person) throw new InvalidError('UNKNOWN_TECHNICIAN', 'There is no such technician.', pointer)
  if (!person.serves) throw new InvalidError('NOT_THEIR_WAREHOUSE', 'This technician does not serve that warehouse.', pointer)
}

/** An order that is issued to nobody is told to nobody. */
export function requireSomebody(technicianId: string | null | undefined): void {
  if (!technicianId) throw new InvalidError('NO_TECHNICIAN', 'Say to whom the order is issued; it can be drafted without.', '/technicianId')
}

/** Call with orders as they are written: each electrical task among them is for a person who is set down as qualified for it. */
export async function checkQualified(changing: Changing, workOrderIds: readonly string[], pointer: string): Promise<void> {
  const [wrong] = await changing.rows<{ number: number; person: string; task: string }>(
    `SELECT o.number, p.name AS person, t.name AS task FROM work_order o
     JOIN person p ON p.organisation_id = $1 AND p.id = o.technician_id AND NOT p.electrically_qualified
     JOIN work_order_task x ON x.organisation_id = $1 AND x.work_order_id = o.id
     JOIN plan_task t ON t.organisation_id = $1 AND t.id = x.plan_task_id AND t.skill = 'electrical'
     WHERE o.organisation_id = $1 AND o.id = ANY($2::uuid[]) ORDER BY o.number, x.position LIMIT 1`,
    [workOrderIds],
  )
  if (wrong)
    throw new InvalidError(
      'NEEDS_QUALIFIED_PERSON',
      `‘${wrong.task}’ on order ${wrong.number} is for a qualified electrical person, and ${wrong.person} is not set down as one. Choose somebody who is.`,
      pointer,
    )
}
