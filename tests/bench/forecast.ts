/**
 * P4 of speed.md: days of 6 usage quantities × 9 chances a machine, against the least work found that returns the same
 * days: running sums read from plain arrays, a normal guess, and the exact gamma function on the guessed day and the one before.
 */
import { gammaUpper, normalQuantile } from '@tapewarden/reliability'
import { dayReached, forecastUsage, type MachineToPlan, prepareFleet, type UsageForecast, usageMoments } from '@tapewarden/scheduling'
import { type BenchResult, summarise } from './result.js'

const MACHINES = 60
const REPETITIONS = 7
const TODAY = 20_600
const CHANCES = [0.02, 0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95, 0.98]
const AMOUNTS = [4_000, 15_000, 40_000, 90_000, 160_000, 240_000]

function forecasts(): UsageForecast[] {
  const machines = Array.from({ length: MACHINES }, (_, index) => ({
    machineId: `m${index}`,
    machineTypeId: 'type',
    usage: Array.from({ length: 12 }, (__, week) => ({
      from: TODAY - 7 * (12 - week),
      to: TODAY - 7 * (12 - week) + 6,
      strips: 5 * (600 + 11 * index) * (1 + 0.1 * Math.sin(week * 3 + index)),
      kind: 'counter' as const,
      relativeError: 0,
    })),
  })) as unknown as MachineToPlan[]
  const calendar = {
    zone: 'UTC',
    shiftMinutes: [0, 480, 480, 480, 480, 480, 0, 0],
    shifts: [1, 2, 3, 4, 5].map((weekday) => ({ weekday, startsMinute: 480, endsMinute: 960 })),
    closures: [{ from: TODAY + 30, to: TODAY + 34 }],
    peaks: [{ from: TODAY + 60, to: TODAY + 90, usageMultiplier: 1.6, bars: 'no_visits' as const }],
  }
  const types = { type: { usualStripsPerDay: 800 } } as unknown as Parameters<typeof prepareFleet>[0]['types']
  const context = prepareFleet({ today: TODAY, calendar, types, machines })
  return machines.map((machine) => forecastUsage(context, machine))
}

/** Chance by plain arrays; the same formula as the product's, written apart. */
function chance({ context, level, levelCv, knownTo }: UsageForecast, strips: number, index: number): number {
  const start = knownTo + 1 - context.table.from
  const worth = context.expected[index + 1]! - context.expected[start]!
  if (worth <= 0) return 0
  const ofLevel = levelCv * levelCv + (context.driftPerDay * (context.working[index + 1]! - context.working[start]!)) / 3
  const mean = level * worth * (1 + ofLevel / 2)
  const peak = (context.peakCv * (context.inPeak[index + 1]! - context.inPeak[start]!)) / worth
  const variance = context.overdispersion * mean + mean * mean * (ofLevel + peak * peak)
  return gammaUpper((mean * mean) / variance, (mean * strips) / variance)
}

function least(forecast: UsageForecast, strips: number, probability: number): number | null {
  const z = normalQuantile(1 - probability)
  const from = forecast.context.table.from
  let low = forecast.knownTo + 1
  let high = forecast.context.table.to
  for (; high > low && chance(forecast, strips, high - from) < probability;) high = low + Math.floor((high - low) * 0.8)
  if (chance(forecast, strips, high - from) < probability) return null
  while (low < high) {
    const middle = (low + high) >> 1
    const { mean, variance } = usageMoments(forecast, forecast.knownTo, middle)
    const ninth = mean > 0 ? variance / (9 * mean * mean) : 0
    if (mean > 0 && mean * Math.max(0, 1 - ninth + z * Math.sqrt(ninth)) ** 3 >= strips) high = middle
    else low = middle + 1
  }
  while (chance(forecast, strips, low - from) < probability) low++
  while (low > forecast.knownTo + 1 && chance(forecast, strips, low - 1 - from) >= probability) low--
  return low
}

type Finder = (forecast: UsageForecast, strips: number, probability: number) => number | null
const product: Finder = (forecast, strips, probability) => dayReached(forecast, strips, forecast.knownTo, probability)

function timed(all: readonly UsageForecast[], find: Finder): { microseconds: number; sum: number } {
  const began = performance.now()
  let sum = 0
  for (const forecast of all)
    for (const strips of AMOUNTS) for (const probability of CHANCES) sum += find(forecast, strips, probability) ?? 0
  return { microseconds: ((performance.now() - began) / all.length) * 1000, sum }
}

function walk(forecast: UsageForecast, strips: number, probability: number): number | null {
  for (let day = forecast.knownTo + 1; day <= forecast.context.table.to; day++)
    if (chance(forecast, strips, day - forecast.context.table.from) >= probability) return day
  return null
}

export async function run(): Promise<BenchResult[]> {
  const all = forecasts()
  for (const forecast of all.slice(0, 2))
    for (const strips of AMOUNTS)
      for (const probability of CHANCES)
        if (product(forecast, strips, probability) !== walk(forecast, strips, probability))
          throw new Error(
            `a day differs from the walk: ${strips} at ${probability}: ${product(forecast, strips, probability)} ${walk(forecast, strips, probability)} known ${forecast.knownTo}`,
          )
  timed(all, product)
  timed(all, least)
  const ours: number[] = []
  const floors: number[] = []
  for (let repetition = 0; repetition < REPETITIONS; repetition++) {
    const [mine, floor] = [timed(all, product), timed(all, least)]
    if (mine.sum !== floor.sum) throw new Error('the floor gives other days')
    ours.push(mine.microseconds)
    floors.push(floor.microseconds)
  }
  const ratios = ours.map((time, index) => time / (floors[index] as number))
  const note = `${Math.min(...ours).toFixed(0)} µs a machine for 54 days, floor ${Math.min(...floors).toFixed(0)} µs; 108 days equal to a walk`
  return [summarise('P4 forecast, 6 tasks × 9 chances', ratios, 3, note)]
}
