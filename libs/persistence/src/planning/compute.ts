import type {
  LedgerInput,
  LedgerResult,
  LifeOfComponent,
  MachineLedger,
  MachinePlan,
  MachineToPlan,
  PlanningInput,
} from '@tapewarden/scheduling'
import { assembler } from './assemble.js'
import type { LocalMoments } from './local-moments.js'
import { leadDaysOf } from './people.js'
import type { ChunkRows } from './read-chunk.js'
import type { MachineRow } from './read-machines.js'
import type { WarehouseFacts } from './read-warehouse.js'
import { typeFactsOf } from './type-facts.js'
import type { SetAside } from './write-ledger.js'

/** The pure functions of the pass; an argument, so that tests can let one of them fail. */
export interface PlanningMath {
  buildLedgers(input: LedgerInput): LedgerResult
  planMachines(input: PlanningInput): readonly MachinePlan[]
}

export interface Problem {
  machineId: string
  reason: string
}

export interface ComputedMachine {
  row: MachineRow
  ledger: MachineLedger | null
  plan: MachinePlan
}

export interface Computed {
  machines: ComputedMachine[]
  setAside: readonly SetAside[]
  problems: Problem[]
}

function reasonOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error)
}

/** Something did not hold for one machine: its ledger stays as it was, and its dates say why there are none. */
function withoutDates(row: MachineRow, facts: WarehouseFacts, reason: string): ComputedMachine {
  const forecasts = (facts.plans.get(row.machine_type_id)?.tasks ?? []).map((task) => ({
    serviceTaskId: task.serviceTaskId,
    planTaskId: task.planTaskId,
    state: 'cannot_be_computed' as const,
    earlyOn: null,
    likelyOn: null,
    lateOn: null,
    noLaterThan: null,
    governing: null,
    basis: {},
    reason,
  }))
  return { row, ledger: null, plan: { machineId: row.id, forecasts, changes: [], problem: reason } }
}

/** All at once; where that fails, by halves, so that a machine with broken data stops no other and costs only a few more tries. */
function byHalves<Machine extends { machineId: string }, Answer>(
  machines: readonly Machine[],
  attempt: (machines: readonly Machine[]) => Answer,
  problems: Map<string, string>,
): Answer[] {
  if (machines.length === 0) return []
  try {
    return [attempt(machines)]
  } catch (error) {
    const [only] = machines
    if (machines.length === 1 && only) {
      problems.set(only.machineId, reasonOf(error))
      return []
    }
    const middle = machines.length >> 1
    return [...byHalves(machines.slice(0, middle), attempt, problems), ...byHalves(machines.slice(middle), attempt, problems)]
  }
}

function ledgersOf(math: PlanningMath, input: LedgerInput, problems: Map<string, string>): LedgerResult {
  const attempt = (machines: LedgerInput['machines']): LedgerResult => {
    if (machines.length === input.machines.length) return math.buildLedgers(input)
    const asked = new Set(machines.map(({ machineId }) => machineId))
    const others = input.machines.filter(({ machineId }) => !asked.has(machineId))
    const evidence = input.evidence.filter(({ machineId }) => machineId === null || asked.has(machineId))
    return math.buildLedgers({ ...input, machines, neighbours: [...input.neighbours, ...others], evidence })
  }
  const results = byHalves(input.machines, attempt, problems)
  if (results.length === 1 && results[0]) return results[0]
  const setAside = new Map(results.flatMap((result) => result.setAside).map((one) => [one.evidenceId, one]))
  return { machines: results.flatMap((result) => result.machines), setAside: [...setAside.values()] }
}

function plansOf(math: PlanningMath, input: PlanningInput, problems: Map<string, string>): readonly MachinePlan[] {
  return byHalves(input.machines, (machines) => math.planMachines({ ...input, machines }), problems).flat()
}

/** Not a number would be refused by the database and take the whole chunk with it. */
function hasNumbers(ledger: MachineLedger): boolean {
  return ledger.days.every(
    (day) => Number.isFinite(day.strips + day.metres + day.motorMinutes + day.stripsTotal + day.relativeError) && day.strips >= 0,
  )
}

function assembleAll(
  rows: ChunkRows,
  facts: WarehouseFacts,
  moments: LocalMoments,
  ledgers: ReadonlyMap<string, MachineLedger>,
  problems: Map<string, string>,
): MachineToPlan[] {
  const assemble = assembler(rows, facts, moments, ledgers)
  return rows.machines.flatMap((row) => {
    const ledger = ledgers.get(row.id)
    if (!ledger || problems.has(row.id)) return []
    try {
      return [assemble(row, ledger)]
    } catch (error) {
      problems.set(row.id, reasonOf(error))
      return []
    }
  })
}

/** What the planner knows besides the machines. */
export function planningInputOf(
  facts: WarehouseFacts,
  life: Readonly<Record<string, LifeOfComponent>>,
  today: number,
  machines: readonly MachineToPlan[],
): PlanningInput {
  return {
    today,
    calendar: facts.calendar,
    leadDays: leadDaysOf(facts.people),
    types: Object.fromEntries([...facts.types].map(([id, row]) => [id, typeFactsOf(row)])),
    tasksByType: Object.fromEntries([...facts.plans].map(([id, plan]) => [id, plan.tasks])),
    machines,
    useElsewhere: facts.useElsewhere,
    firstRound: facts.firstRound,
    life,
  }
}

/** The machines of a chunk with their ledgers, for asking what would have been foretold; those with a problem are left out. */
export function machinesToPlan(math: PlanningMath, rows: ChunkRows, facts: WarehouseFacts, moments: LocalMoments): MachineToPlan[] {
  const problems = new Map<string, string>()
  const ledgers = ledgersOf(math, rows.ledgerInput, problems).machines.filter(hasNumbers)
  return assembleAll(rows, facts, moments, new Map(ledgers.map((ledger) => [ledger.machineId, ledger])), problems)
}

/** From the rows of a chunk to ledgers and plans; pure but for the functions given. */
export function compute(
  math: PlanningMath,
  rows: ChunkRows,
  facts: WarehouseFacts,
  moments: LocalMoments,
  life: Readonly<Record<string, LifeOfComponent>>,
  today: number,
): Computed {
  const problems = new Map<string, string>()
  const { machines, setAside } = ledgersOf(math, rows.ledgerInput, problems)
  const ledgers = new Map(machines.map((ledger) => [ledger.machineId, ledger]))
  for (const ledger of machines)
    if (!hasNumbers(ledger)) problems.set(ledger.machineId, 'The ledger of its use does not come out as numbers.')
  const toPlan = assembleAll(rows, facts, moments, ledgers, problems)
  const plans = new Map(plansOf(math, planningInputOf(facts, life, today, toPlan), problems).map((plan) => [plan.machineId, plan]))
  const computed = rows.machines.map((row): ComputedMachine => {
    const [ledger, plan] = [ledgers.get(row.id), plans.get(row.id)]
    if (ledger && plan && !problems.has(row.id)) return { row, ledger, plan }
    return withoutDates(row, facts, problems.get(row.id) ?? 'Nothing was computed for it.')
  })
  const found = computed.flatMap(({ row, plan }) => (plan.problem === null ? [] : [{ machineId: row.id, reason: plan.problem }]))
  return { machines: computed, setAside, problems: found }
}
