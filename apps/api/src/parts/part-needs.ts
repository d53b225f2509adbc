/** What must be ordered by when: the need that the dates and the life of parts make, against stock. */
import { type PartNeedsHere, readPartNeeds } from '@tapewarden/persistence'
import { advisePart, dateOf, dayOf, NO_STOCK, type PartAdvice, type PlaceChance, sayDate, sayPieces } from '@tapewarden/scheduling'
import type { PartNeed, RouteQuery, RouteResult, Routes } from '@tapewarden/shared'
import { localDateOf } from '../use/local-day.js'
import { requireWarehouse } from '../use/reach.js'
import type { Reading } from '../use/work.js'
import { setImmediate } from 'node:timers/promises'

type Query = RouteQuery<Routes['partNeeds']>

const MOST_MACHINES = 100
/** A part that is less likely than this to be needed at all is left out, unless one is missing. */
const WORTH_SAYING = 0.005

export async function partNeeds(reading: Reading, query: Query): Promise<RouteResult<Routes['partNeeds']>> {
  if (query.warehouseId) requireWarehouse(reading.who, query.warehouseId)
  const warehouseIds = query.warehouseId ? [query.warehouseId] : reading.who.warehouseIds
  const needs = await readPartNeeds(reading.scope, { warehouseIds }, localDateOf(reading.now, 'UTC'))
  const items: PartNeed[] = []
  for (const need of needs) {
    const said = needOf(need, query, reading.now)
    if (said.expected >= WORTH_SAYING || said.missing > 0) items.push(said)
    // A thousand places take a tenth of a second: other requests have their turn between two parts.
    await setImmediate()
  }
  return { items: items.sort((a, b) => (a.orderBy ?? '9').localeCompare(b.orderBy ?? '9') || b.expected - a.expected) }
}

const thousandths = (value: number): number => Math.round(value * 1000) / 1000

function machineOf({ place, chance }: PlaceChance): PartNeed['machines'][number] {
  const first = place.tasks.toSorted((a, b) => a.likely - b.likely)[0]
  return {
    machineId: place.machineId,
    labelCode: place.labelCode,
    quantity: place.quantity,
    chance: thousandths(chance),
    taskName: first?.taskName ?? null,
    likelyOn: first ? dateOf(first.likely) : null,
  }
}

function needOf(need: PartNeedsHere, { days, servicePercent: asked }: Query, now: Date): PartNeed {
  const { warehouseId, warehouseName, componentKey, part, stock } = need
  const servicePercent = asked ?? need.servicePercent
  const held = stock ?? NO_STOCK
  const today = localDateOf(now, need.zone)
  const advice = advisePart(need.places, held, { today: dayOf(today), service: servicePercent / 100, horizonDays: days })
  const others = advice.places.slice(MOST_MACHINES)
  const partName = part?.name ?? componentKey.replaceAll('_', ' ')
  return {
    partId: part?.id ?? null,
    partName,
    stockCode: part?.stockCode ?? null,
    componentKey,
    warehouseId,
    warehouseName,
    servicePercent,
    expected: thousandths(advice.expected),
    needed: advice.needed,
    onHand: held.onHand,
    onOrder: held.onOrder,
    missing: advice.missing,
    orderBy: advice.orderBy,
    late: advice.late,
    orderPieces: advice.orderPieces,
    leadTimeDays: stock?.leadTimeDays ?? null,
    leadTimeSpreadDays: held.leadTimeSpreadDays,
    machines: advice.places.slice(0, MOST_MACHINES).map(machineOf),
    others: {
      machines: others.length,
      expected: thousandths(others.reduce((sum, { place, chance }) => sum + place.quantity * chance, 0)),
    },
    sentence: sentenceOf({ warehouseName, part, name: partName }, advice, { percent: servicePercent, today, days }),
  }
}

interface Asked {
  percent: number
  today: string
  days: number
}

function sentenceOf(
  { warehouseName, part, name }: { warehouseName: string; part: unknown; name: string },
  advice: PartAdvice,
  asked: Asked,
): string {
  const { percent, today, days } = asked
  const need = `${sayPieces(advice.expected)} in the next ${days} days; ${advice.needed} ${advice.needed === 1 ? 'is' : 'are'} enough with ${percent} % certainty.`
  if (part === null) return `${warehouseName}: ${name}. ${need} No part in the books fits these machines.`
  if (advice.orderBy === null) return `${warehouseName}: ${name}. ${need} There or on order.`
  const when = advice.late || advice.orderBy <= today ? 'now' : `by ${sayDate(advice.orderBy, today)}`
  const late = advice.late ? ' It may come too late for one of them.' : ''
  return `${warehouseName}: order ${advice.orderPieces} × ${name} ${when}. ${need}${sayRest(advice)}${late}`
}

/** Why the order is for fewer than are enough. */
function sayRest({ needed, missing, orderPieces }: PartAdvice): string {
  const [there, later] = [needed - missing, missing - orderPieces]
  const held = missing > 0 && there > 0 ? ` ${there} ${there === 1 ? 'is' : 'are'} there or on order.` : ''
  return later > 0 ? `${held} ${later} more can be ordered later.` : held
}
