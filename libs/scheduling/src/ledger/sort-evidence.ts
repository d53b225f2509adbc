/** Evidence by machine: counters apart, the rest brought to strips over whole days; what cannot be true is set aside. */
import type { Day } from '../model.js'
import { dailyStrips, placesOf, type StripsOver } from './daily.js'
import type { LedgerInput, MachineForLedger, RawEvidence, SetAside } from './input.js'
import type { ShiftTable } from './shift-minutes.js'

const isCounter = ({ kind }: RawEvidence): boolean => kind === 'counter_reading' || kind === 'counter_replaced'

const NO_MINUTE = 2047
const KINDS: readonly RawEvidence['kind'][] = ['counter_reading', 'counter_replaced', 'strips_day', 'cartons_day', 'rolls', 'monthly_tap']

/** One whole number below 2^46 for kind and time: days within 32 768 of 1970 either way, minutes below 2 048. */
function timeKey(kind: RawEvidence['kind'], from: Day, to: Day, minute: number): number {
  return ((KINDS.indexOf(kind) * 65_536 + from + 32_768) * 65_536 + to + 32_768) * 2048 + minute
}

/** What cannot be true whatever the machine: it is set aside, and nothing else is lost. */
function refuse(evidence: RawEvidence, today: Day, seen: Set<number>): SetAside | null {
  // The id is read only where it is needed: making its text costs as much as all the rest.
  const { amount, kind, from, to, at } = evidence
  if (amount !== null && (!Number.isFinite(amount) || amount < 0))
    return { evidenceId: evidence.id, code: 'NEGATIVE', reason: 'The amount is negative or no number. Correct it, or dismiss it.' }
  const latest = kind === 'monthly_tap' ? from : (at?.day ?? to)
  if (latest > today)
    return { evidenceId: evidence.id, code: 'IN_THE_FUTURE', reason: 'It lies in the future. Correct the day, or dismiss it.' }
  const key = timeKey(kind, from, to, at?.minute ?? NO_MINUTE)
  if (seen.has(key))
    return {
      evidenceId: evidence.id,
      code: 'DUPLICATE',
      reason: 'There is one of this kind for the same time already, which counts. Correct one of them, or dismiss this one.',
    }
  seen.add(key)
  return null
}

function pushTo<Item>(map: Map<string, Item[]>, key: string, item: Item): void {
  const items = map.get(key)
  if (items) items.push(item)
  else map.set(key, [item])
}

export interface Sorted {
  counters: Map<string, RawEvidence[]>
  daily: Map<string, StripsOver[]>
  setAside: SetAside[]
}

/** In the order in which it came in. It mostly lies so already, and sorting a fleet's evidence costs more than looking. */
function inOrder(evidence: RawEvidence[]): RawEvidence[] {
  for (let index = 1; index < evidence.length; index++)
    if ((evidence[index] as RawEvidence).order < (evidence[index - 1] as RawEvidence).order)
      return evidence.sort((a, b) => a.order - b.order)
  return evidence
}

/** Each piece to the machines that it speaks of, or aside with its reason. */
export function sortEvidence(input: LedgerInput, shifts: ShiftTable): Sorted {
  const byId = new Map(input.machines.map((machine) => [machine.machineId, machine]))
  const sorted: Sorted = { counters: new Map(), daily: new Map(), setAside: [] }
  const places = placesOf(input)
  const take = (piece: StripsOver): void => pushTo(sorted.daily, piece.machineId, piece)
  const owners = new Map<string, RawEvidence[]>()
  for (const evidence of input.evidence) pushTo(owners, evidence.machineId ?? evidence.stationId ?? '', evidence)
  for (const owned of owners.values()) {
    const seen = new Set<number>()
    for (const evidence of inOrder(owned)) {
      const refused = refuse(evidence, input.today, seen)
      if (refused) sorted.setAside.push(refused)
      else if (isCounter(evidence)) sortCounter(sorted, byId, evidence)
      else {
        const aside = dailyStrips(input, shifts, evidence, byId, places, take)
        if (aside) sorted.setAside.push(aside)
      }
    }
  }
  return sorted
}

function sortCounter({ counters, setAside }: Sorted, byId: ReadonlyMap<string, MachineForLedger>, evidence: RawEvidence): void {
  const machine = evidence.machineId === null ? undefined : byId.get(evidence.machineId)
  if (!machine)
    setAside.push({
      evidenceId: evidence.id,
      code: 'UNKNOWN_MACHINE',
      reason: 'No machine of this warehouse is meant. Name the machine, or dismiss it.',
    })
  else if (machine.counterKind === 'none')
    setAside.push({
      evidenceId: evidence.id,
      code: 'NO_COUNTER',
      reason: 'The type of this machine has no counter. Correct the machine type, or dismiss it.',
    })
  else pushTo(counters, machine.machineId, evidence)
}
