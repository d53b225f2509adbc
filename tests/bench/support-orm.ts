/** The same work as plain ORM code does it, a machine at a time: rows as objects, an upsert a row. The slow side of P3. */
import { type Database, type PlanningMath, planningMath } from '@tapewarden/persistence'
import { newId } from '@tapewarden/platform'
import type { LedgerInput, MachinePlan, PlanningInput } from '@tapewarden/scheduling'
import type { Fleet } from './support-fleet.js'

/** What a pass gave its pure functions, kept so that a machine can be computed again by itself. */
export interface Kept {
  ledgers: LedgerInput
  plans: PlanningInput
}

/** @returns the product's functions, and what the first chunk gave them */
export function keeping(): { math: PlanningMath; kept: Partial<Kept> } {
  const kept: Partial<Kept> = {}
  const math: PlanningMath = {
    buildLedgers: (input) => planningMath.buildLedgers((kept.ledgers ??= input)),
    planMachines: (input) => planningMath.planMachines((kept.plans ??= input)),
  }
  return { math, kept }
}

const DAY_MS = 86_400_000
const date = (day: number): Date => new Date(day * DAY_MS)
const dateOrNull = (day: number | null): Date | null => (day === null ? null : date(day))

type Scope = Parameters<Parameters<Database['withOrganisation']>[1]>[0]

async function readAll(scope: Scope, organisationId: string, machineId: string): Promise<number> {
  const where = { organisationId, machineId }
  const machine = await scope.machine.findUniqueOrThrow({
    where: { organisationId_id: { organisationId, id: machineId } },
    include: { placements: true, machineStatusPeriods: true, componentPlacements: { include: { component: true } } },
  })
  const lists = [
    await scope.evidence.findMany({ where: { ...where, state: 'counted' } }),
    await scope.measurement.findMany({ where }),
    await scope.serviceRecord.findMany({ where }),
    await scope.occurrence.findMany({ where, orderBy: { sequence: 'desc' } }),
    await scope.situation.findMany({ where }),
  ]
  return machine.placements.length + lists.reduce((sum, list) => sum + list.length, 0)
}

async function writePlan(scope: Scope, fleet: Fleet, today: number, { machineId, forecasts, changes }: MachinePlan, people: string[]) {
  const { organisationId, warehouseId } = fleet
  for (const one of forecasts) {
    const dates = {
      earlyOn: dateOrNull(one.earlyOn),
      likelyOn: dateOrNull(one.likelyOn),
      lateOn: dateOrNull(one.lateOn),
      noLaterThan: dateOrNull(one.noLaterThan),
    }
    const { planTaskId, serviceTaskId, state, governing: governingTrigger, reason } = one
    const row = { planTaskId, warehouseId, state, ...dates, governingTrigger, basis: one.basis as object, reason, computedOn: date(today) }
    const key = { organisationId, machineId, serviceTaskId }
    await scope.forecast.upsert({
      where: { organisationId_machineId_serviceTaskId: key },
      create: { ...key, ...row },
      update: row,
    })
  }
  for (const change of changes) {
    if (change.do !== 'open') continue
    const { serviceTaskId, planTaskId, sequence, kind, needsPerson, governing: governingTrigger } = change
    const occurrence = await scope.occurrence.create({
      data: {
        organisationId,
        id: newId(),
        machineId,
        serviceTaskId,
        planTaskId,
        warehouseId,
        sequence,
        kind,
        state: 'open',
        openedOn: date(today),
        nominalOn: date(change.nominalOn),
        dueOn: date(change.dueOn),
        lateFrom: dateOrNull(change.lateFrom),
        windowFrom: date(change.windowFrom),
        windowTo: date(change.windowTo),
        hardLimitOn: dateOrNull(change.hardLimitOn),
        needsPerson,
        governingTrigger,
        basis: change.basis as object,
        createdAt: date(today),
      },
    })
    for (const { stage, sayOn, class: urgency } of change.say)
      for (const personId of people)
        await scope.reminder.create({
          data: {
            organisationId,
            id: newId(),
            occurrenceId: occurrence.id,
            stage,
            personId,
            warehouseId,
            class: urgency,
            sayOn: date(sayOn),
            createdAt: date(today),
          },
        })
  }
}

/** Reads, computes and writes one machine. @returns milliseconds */
export async function planByOrm(database: Database, fleet: Fleet, kept: Kept, machineId: string, people: string[]): Promise<number> {
  const { organisationId, warehouseId } = fleet
  const began = performance.now()
  await database.withOrganisation(organisationId, async (scope) => {
    if ((await readAll(scope, organisationId, machineId)) === 0) throw new Error('nothing was read')
    const { machines, evidence } = kept.ledgers
    const own = {
      ...kept.ledgers,
      machines: machines.filter((one) => one.machineId === machineId),
      evidence: evidence.filter((one) => one.machineId === machineId),
    }
    const [ledger] = planningMath.buildLedgers(own).machines
    for (const { day, strips, metres, motorMinutes, stripsTotal, kind, relativeError } of ledger?.days ?? []) {
      const row = { warehouseId, strips, metres, motorMinutes, stripsTotal, kind, relativeError }
      const key = { organisationId, machineId, day: date(day) }
      await scope.ledgerDay.upsert({ where: { organisationId_machineId_day: key }, create: { ...key, ...row }, update: row })
    }
    const [plan] = planningMath.planMachines({ ...kept.plans, machines: kept.plans.machines.filter((one) => one.machineId === machineId) })
    if (!plan || plan.forecasts.length === 0) throw new Error('nothing was computed')
    await writePlan(scope, fleet, kept.plans.today, plan, people)
  })
  return performance.now() - began
}
