/**
 * Levels of use of a warehouse's machines, drawn towards their type's; the types towards each other and those of the
 * organisation's other warehouses; all of them towards what is stated.
 */
import { type LevelBelief, type LogGroup, shrinkTowardsGroups } from '@tapewarden/reliability'
import type { MachineTypeFacts } from '../model.js'
import type { OwnLevel } from './own-level.js'

/** Half-normal scales of the spreads of ln(strips a day): between machines of a type, between types' distance from what is stated. */
const BETWEEN_MACHINES = 0.6
const BETWEEN_TYPES = 0.4
/** Ten warehouses may be alike and the eleventh still have other work (assumption). */
const LEAST_BETWEEN_WAREHOUSES = 0.25
/** How far what is stated of a type's usual day is off, of its logarithm: as a user stated it, or as the labelled default. */
const STATED_LOG_SD = 0.35
const DEFAULT_LOG_SD = 0.7

export interface UsagePool {
  /** Belief about the logarithm of strips on an ordinary working day of a machine without evidence: spread and error together. */
  logMean: number
  logSd: number
  machines: number
}

/** What another warehouse's machines of one type did of late. */
export interface UseElsewhere {
  machineTypeId: string
  /** Mean over its machines of ln(strips on an ordinary working day). */
  logMean: number
  /** Standard deviation of it between them; null with one machine. */
  logSd: number | null
  machines: number
}

/** Counted plainly, without a weekday's shape or weights by age: off by so much, of the logarithm (assumption). */
const PLAIN_COUNT_ERROR = 0.1

/** The spread between few machines counts as if one more stood at the half-normal's scale. */
function errorElsewhere({ logSd, machines }: UseElsewhere): number {
  const spread = ((machines - 1) * (logSd ?? 0) ** 2 + BETWEEN_MACHINES ** 2) / machines
  return Math.sqrt(spread / machines + PLAIN_COUNT_ERROR ** 2)
}

const errorOf = ({ scatterVariance, lagVariance, kindError }: OwnLevel): number =>
  Math.max(1e-3, Math.sqrt(scatterVariance + lagVariance + kindError ** 2))

/** @param levels own levels of the machines of each type, by type   @param elsewhere types unknown here are left out */
export function poolTypes(
  types: Readonly<Record<string, MachineTypeFacts>>,
  levels: ReadonlyMap<string, readonly OwnLevel[]>,
  elsewhere: readonly UseElsewhere[] = [],
): Record<string, UsagePool> {
  const known = Object.entries(types).map(([typeId, facts]) => ({
    typeId,
    stated: Math.log(Math.max(1, facts.usualStripsPerDay)),
    levels: (levels.get(typeId) ?? []).filter(({ mean }) => mean !== null),
  }))
  const groups = known.map(({ stated, levels: own }): LogGroup => ({
    estimates: own.map(({ mean }) => Math.log(mean as number) - stated),
    standardErrors: own.map(errorOf),
  }))
  const allStated = Object.values(types).every(({ usualStripsStated }) => usualStripsStated)
  const belief: LevelBelief = { mean: 0, sd: allStated ? STATED_LOG_SD : DEFAULT_LOG_SD }
  const others = elsewhere.flatMap((group) => {
    const facts = types[group.machineTypeId]
    return facts ? [{ mean: group.logMean - Math.log(Math.max(1, facts.usualStripsPerDay)), meanSe: errorElsewhere(group) }] : []
  })
  const pooled = shrinkTowardsGroups(
    groups,
    { within: BETWEEN_MACHINES, between: BETWEEN_TYPES, leastBetween: others.length > 0 ? LEAST_BETWEEN_WAREHOUSES : 0 },
    belief,
    others,
  )
  return Object.fromEntries(
    known.map(({ typeId, stated, levels: own }, index) => {
      const { mean, sd } = (pooled[index] as (typeof pooled)[number]).predictive
      return [typeId, { logMean: stated + mean, logSd: sd, machines: own.length }]
    }),
  )
}
