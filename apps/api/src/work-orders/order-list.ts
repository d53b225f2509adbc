import type { RouteQuery, RouteResult, Routes, WorkOrderSummary } from '@tapewarden/shared'
import { localDateOf } from '../use/local-day.js'
import { pageOf, readCursor } from '../use/paging.js'
import type { Reading } from '../use/work.js'
import { furthestReach, highestSkill } from './limits.js'
import { ORDER_FROM, ORDER_SELECT, type OrderRow, type TaskRow, tasksOf } from './order-rows.js'

export function summaryOf(order: OrderRow, tasks: readonly TaskRow[], today: string): WorkOrderSummary {
  const open = tasks.filter((task) => task.occurrenceState === 'open')
  return {
    id: order.id,
    number: order.number,
    state: order.state,
    waitingFor: order.waitingFor,
    machine: { id: order.machineId, labelCode: order.labelCode, typeName: order.typeName, status: order.machineStatus },
    warehouse: { id: order.warehouseId, name: order.warehouseName },
    station:
      order.stationId === null
        ? null
        : { id: order.stationId, name: order.stationName ?? '', line: order.line ?? '', walkingOrder: order.walkingOrder ?? 0 },
    technician:
      order.technicianId === null ? null : { id: order.technicianId, name: order.technicianName ?? '', disabled: order.technicianDisabled },
    visitId: order.visitId,
    plannedOn: order.plannedOn,
    taskNames: tasks.map((task) => task.name),
    minutesPlanned: tasks.reduce((sum, task) => sum + task.minutes, 0),
    skill: highestSkill(tasks),
    reach: furthestReach(tasks),
    dueOn: open.map((task) => task.dueOn).sort()[0] ?? null,
    late: open.some((task) => task.lateFrom !== null && task.lateFrom <= today),
    lastEntryAt: order.lastEntryAt,
    version: order.version,
  }
}

export async function listWorkOrders(
  reading: Reading,
  query: RouteQuery<Routes['listWorkOrders']>,
): Promise<RouteResult<Routes['listWorkOrders']>> {
  const after = readCursor(query.cursor, ['number'])
  const rows = await reading.rows<OrderRow>(
    `${ORDER_SELECT} ${ORDER_FROM} AND ($3::uuid IS NULL OR o.warehouse_id = $3) AND ($4::uuid IS NULL OR o.machine_id = $4)
       AND ($5::uuid IS NULL OR o.technician_id = $5) AND ($6::uuid IS NULL OR o.visit_id = $6) AND ($7::text[] IS NULL OR o.state = ANY($7))
       AND ($8::int IS NULL OR o.number < $8)
     ORDER BY o.number DESC LIMIT $9`,
    [
      reading.who.warehouseIds,
      query.warehouseId ?? null,
      query.machineId ?? null,
      query.mine === true ? reading.who.personId : (query.technicianId ?? null),
      query.visitId ?? null,
      query.state ?? null,
      after?.[0] ?? null,
      query.limit + 1,
    ],
  )
  return pageOf(
    await withTasks(reading, rows),
    query.limit,
    ({ order }) => [order.number],
    ({ summary }) => summary,
  )
}

export async function withTasks(reading: Reading, rows: readonly OrderRow[]): Promise<{ order: OrderRow; summary: WorkOrderSummary }[]> {
  const tasks = await tasksOf(
    reading,
    rows.map((row) => row.id),
  )
  return rows.map((order) => ({
    order,
    summary: summaryOf(
      order,
      tasks.filter((task) => task.workOrderId === order.id),
      localDateOf(reading.now, order.zone),
    ),
  }))
}

export async function ordersOfVisit(reading: Reading, visitId: string): Promise<WorkOrderSummary[]> {
  const rows = await reading.rows<OrderRow>(
    `${ORDER_SELECT} ${ORDER_FROM} AND o.visit_id = $3 ORDER BY s.walking_order NULLS LAST, o.number`,
    [reading.who.warehouseIds, visitId],
  )
  return (await withTasks(reading, rows)).map(({ summary }) => summary)
}
