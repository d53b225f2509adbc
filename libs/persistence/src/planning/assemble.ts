import type {
  ComponentInPlace,
  Day,
  LastDone,
  LedgerDay,
  MachineLedger,
  MachineToPlan,
  OpenOccurrence,
  PlanTask,
} from '@tapewarden/scheduling'
import type { MachineStatus } from '@tapewarden/shared'
import { dayNumber, dayNumberOrNull } from './days.js'
import type { LocalMoments } from './local-moments.js'
import type { ChunkRows } from './read-chunk.js'
import type { LedgerTotals } from './read-elsewhere.js'
import type { ComponentRow, DoneRow, EarlierLengthRow, OpenRow } from './read-history.js'
import type { MachineRow } from './read-machines.js'
import type { WarehouseFacts } from './read-warehouse.js'

function groups<Row>(rows: readonly Row[], keyOf: (row: Row) => string): (key: string) => readonly Row[] {
  const found = new Map<string, Row[]>()
  for (const row of rows) {
    const key = keyOf(row)
    const list = found.get(key)
    if (list) list.push(row)
    else found.set(key, [row])
  }
  return (key) => found.get(key) ?? []
}

/**
 * Ledger total at the end of a day. The day before the ledger's first is its zero; earlier than that nobody knows.
 */
export function totalAt(days: readonly LedgerDay[], day: Day): number | null {
  const first = days[0]
  if (!first || day < first.day - 1) return null
  let [low, high] = [0, days.length]
  while (low < high) {
    const middle = (low + high) >> 1
    if ((days[middle] as LedgerDay).day <= day) low = middle + 1
    else high = middle
  }
  return low === 0 ? first.stripsTotal - first.strips : (days[low - 1] as LedgerDay).stripsTotal
}

interface Context {
  rows: ChunkRows
  /** Of this machine. */
  days: readonly LedgerDay[]
  totals: LedgerTotals
  lengthsOf: (componentId: string) => readonly [string, string, number, string][]
  doneAt: (machineId: string) => readonly DoneRow[]
  doneTo: (componentId: string) => readonly DoneRow[]
}

function componentOf(row: ComponentRow, { rows, days, totals, lengthsOf }: Context): ComponentInPlace {
  const fittedOn = dayNumberOrNull(row.from_date)
  const atFitting = fittedOn === null ? null : totalAt(days, fittedOn)
  const newOn = dayNumberOrNull(row.new_on)
  const lengths = lengthsOf(row.component_id).map(([, measuredOn, lengthMm, machineId]) => {
    const on = dayNumber(measuredOn)
    const here = totalAt(days, on)
    const inPlace = machineId === row.machine_id && (fittedOn === null || on >= fittedOn)
    const elsewhere = inPlace ? null : rows.elsewhere.usedAt(row.component_id, machineId, on, totals)
    const used = inPlace ? (here === null || atFitting === null ? null : row.used_strips_before + here - atFitting) : elsewhere
    // A length from an earlier machine is placed on this machine's count as if all had been done here.
    const stripsTotal = inPlace ? (here ?? 0) : (atFitting ?? 0) + (elsewhere ?? 0) - row.used_strips_before
    return { on, lengthMm, usedStrips: newOn === null ? null : used, stripsTotal }
  })
  return {
    componentId: row.component_id,
    componentKey: row.component_key,
    newOn,
    fittedOn,
    usedStripsBefore: row.used_strips_before,
    stripsTotalAtFitting: atFitting,
    lengths,
  }
}

/** Parts that were in the machine before and are not in it again, by what was measured of them while its ledger was kept. */
function earlierOf(
  rows: readonly EarlierLengthRow[],
  days: readonly LedgerDay[],
  inPlace: readonly ComponentInPlace[],
): NonNullable<MachineToPlan['earlier']> {
  const sets = new Map<string, { componentKey: string; lengths: ComponentInPlace['lengths'][number][] }>()
  for (const [, componentKey, componentId, newOn, from, usedBefore, measuredOn, lengthMm] of rows) {
    const on = dayNumber(measuredOn)
    const here = totalAt(days, on)
    if (here === null || inPlace.some((one) => one.componentId === componentId)) continue
    const atFitting = from === null ? null : totalAt(days, dayNumber(from))
    const usedStrips = newOn === null || atFitting === null ? null : usedBefore + here - atFitting
    const key = `${componentId} ${from}`
    const set = sets.get(key) ?? { componentKey, lengths: [] }
    set.lengths.push({ on, lengthMm, usedStrips, stripsTotal: here })
    sets.set(key, set)
  }
  return [...sets.values()]
}

/** Rule 2: the clock of a task that names a component is on the component in place; else on the machine. */
function counts(row: DoneRow, component: ComponentInPlace | undefined): boolean {
  if (!component) return true
  if (row.component_id !== null) return row.component_id === component.componentId
  return component.fittedOn === null || dayNumber(row.done_on) >= component.fittedOn
}

function lastDoneOf(task: PlanTask, machineId: string, components: readonly ComponentInPlace[], context: Context): LastDone | null {
  const component = components.find((one) => one.componentKey === task.componentKey)
  const here = context.doneAt(machineId).filter((row) => counts(row, component))
  // What was done to the component while it was in another machine of the chunk, or elsewhere.
  const there = component ? context.doneTo(component.componentId) : []
  let newest: DoneRow | null = null
  for (const row of [...here, ...there])
    if (row.service_task_id === task.serviceTaskId && (!newest || row.done_on > newest.done_on)) newest = row
  if (!newest) return null
  const doneOn = dayNumber(newest.done_on)
  const at = (day: Day) => stripsAt(newest, day, machineId, component, context)
  return {
    doneOn,
    anchorOn: dayNumber(newest.anchor_on),
    anchorSteps: newest.anchor_steps,
    stripsTotal: at(doneOn),
    ...useAnchorOf(newest, at),
  }
}

function useAnchorOf(row: DoneRow, stripsTotalAt: (day: Day) => number | null): Pick<LastDone, 'useAnchor'> {
  if (row.use_anchor_on === null || row.use_anchor_unit === null) return {}
  const on = dayNumber(row.use_anchor_on)
  return { useAnchor: { on, unit: row.use_anchor_unit, amount: row.use_anchor_amount, stripsTotal: stripsTotalAt(on) } }
}

/** The machine's total when the task was done; for a component that was elsewhere then, where this machine's count would have stood. */
function stripsAt(
  row: DoneRow,
  doneOn: Day,
  machineId: string,
  component: ComponentInPlace | undefined,
  { rows, days, totals }: Context,
): number | null {
  if (row.machine_id === machineId) return totalAt(days, doneOn)
  const used = component ? rows.elsewhere.usedAt(component.componentId, row.machine_id, doneOn, totals) : null
  return used === null || !component || component.stripsTotalAtFitting === null
    ? null
    : component.stripsTotalAtFitting + used - component.usedStripsBefore
}

function openOf(row: OpenRow, moments: LocalMoments): OpenOccurrence {
  return {
    id: row.id,
    sequence: row.sequence,
    kind: row.kind,
    openedOn: dayNumber(row.opened_on),
    nominalOn: dayNumber(row.nominal_on),
    windowFrom: dayNumber(row.window_from),
    windowTo: dayNumber(row.window_to),
    hardLimitOn: dayNumberOrNull(row.hard_limit_on),
    dueOn: dayNumber(row.due_on),
    lateFrom: dayNumberOrNull(row.late_from),
    governing: row.governing_trigger,
    saidOn: dayNumberOrNull(row.said_on),
    saidDueOn: dayNumberOrNull(row.said_due_on),
    saidStages: row.said_stages,
    underWaySince: row.started_at && moments.of(row.started_at.getTime()).day,
    lastEntryOn: row.last_entry_at && moments.of(row.last_entry_at.getTime()).day,
    componentId: row.component_id,
  }
}

/** @returns a function that puts one machine together from the rows of its chunk and its ledger */
export function assembler(
  rows: ChunkRows,
  facts: WarehouseFacts,
  moments: LocalMoments,
  ledgers: ReadonlyMap<string, MachineLedger>,
): (machine: MachineRow, ledger: MachineLedger) => MachineToPlan {
  const totals: LedgerTotals = (machineId, day) => {
    const ledger = ledgers.get(machineId)
    return ledger && totalAt(ledger.days, day)
  }
  const lengthsOf = groups(rows.lengths, ([componentId]) => componentId)
  const doneAt = groups(rows.done, (row) => row.machine_id)
  const doneTo = groups([...rows.done, ...rows.elsewhere.done], (row) => row.component_id ?? '')
  const openOfMachine = groups(rows.open, (row) => row.machine_id)
  const sequencesOf = groups(rows.sequences, ([machineId]) => machineId)
  const skippedOf = groups(rows.skipped, ([machineId]) => machineId)
  const componentsOf = groups(rows.components, (row) => row.machine_id)
  const earlierAt = groups(rows.earlierLengths, ([machineId]) => machineId)
  const findingsOf = groups(rows.findings, (row) => row.machine_id)
  const situationsOf = groups(rows.situations, ([machineId]) => machineId)
  return (machine, ledger) => {
    const context: Context = { rows, days: ledger.days, totals, lengthsOf, doneAt, doneTo }
    const components = componentsOf(machine.id).map((row) => componentOf(row, context))
    const lastDone: Record<string, LastDone> = {}
    for (const task of facts.plans.get(machine.machine_type_id)?.tasks ?? []) {
      const last = lastDoneOf(task, machine.id, components, context)
      if (last) lastDone[task.serviceTaskId] = last
    }
    return {
      machineId: machine.id,
      machineTypeId: machine.machine_type_id,
      status: machine.status as MachineStatus,
      statusSince: dayNumber(machine.status_since),
      registeredOn: dayNumber(machine.registered_on),
      commissionedOn: dayNumberOrNull(machine.commissioned_on),
      line: machine.line,
      walkingOrder: machine.walking_order,
      stripsTotal: ledger.days.at(-1)?.stripsTotal ?? 0,
      hasCounter: facts.types.get(machine.machine_type_id)?.counter_kind !== 'none',
      usage: ledger.intervals,
      lastDone,
      open: Object.fromEntries(openOfMachine(machine.id).map((row) => [row.service_task_id, openOf(row, moments)])),
      sequences: Object.fromEntries(sequencesOf(machine.id).map(([, taskId, sequence]) => [taskId, sequence])),
      skipped: Object.fromEntries(
        skippedOf(machine.id).map(([, taskId, endedOn, nominalOn]) => [
          taskId,
          { endedOn: dayNumber(endedOn), nominalOn: dayNumber(nominalOn) },
        ]),
      ),
      newest: Object.fromEntries(
        sequencesOf(machine.id).map(([, taskId, sequence, state, kind, endedOn, nominalOn]) => [
          taskId,
          { sequence, state, kind, endedOn: dayNumberOrNull(endedOn), nominalOn: dayNumber(nominalOn) },
        ]),
      ),
      components,
      earlier: earlierOf(earlierAt(machine.id), ledger.days, components),
      findings: findingsOf(machine.id).map((row) => ({
        findingId: row.id,
        serviceTaskId: row.service_task_id,
        foundOn: dayNumber(row.found_on),
        dueOn: dayNumberOrNull(row.due_on),
        withinDays: row.within_days,
        safety: row.safety,
        text: row.text,
      })),
      situations: situationsOf(machine.id).map(([, kind, happenedOn]) => ({ kind, on: dayNumber(happenedOn) })),
    }
  }
}
