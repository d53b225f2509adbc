/**
 * Seeds of chaos over the real pass handlers, composing, sending and sweep: nothing lost, nothing told twice.
 * SIMULATION_SEED=17 plays one seed again and prints its story; SIMULATION_SEEDS=20000 plays more.
 */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { createTestDatabase, type TestDatabase } from '../support/database.js'
import { type Lane, openLane } from './lane.js'
import { play, type Played, type Sabotage } from './play.js'

const ONE = process.env.SIMULATION_SEED
const SEEDS = ONE === undefined ? Number(process.env.SIMULATION_SEEDS ?? 2000) : 1
const FIRST = Number(ONE ?? 1)
const LANES = 4

let test: TestDatabase
let lanes: Lane[]

beforeAll(async () => {
  test = await createTestDatabase()
  lanes = []
  for (let lane = 0; lane < LANES; lane++) lanes.push(await openLane(test.appUrl, `sim${lane}`))
}, 120_000)
afterAll(async () => {
  for (const lane of lanes) await lane.close()
  await test.drop()
})

async function playAll(first: number, count: number, sabotage?: Sabotage): Promise<Played[]> {
  const played: Played[] = []
  let next = first
  await Promise.all(
    lanes.map(async (lane) => {
      while (next < first + count) played.push(await play(lane, next++, sabotage))
    }),
  )
  return played
}

const say = ({ seed, faults, trace }: Played) =>
  `seed ${seed}: ${faults.join('; ')}. Again with SIMULATION_SEED=${seed}. Its last steps:\n  ${trace.slice(-40).join('\n  ')}`

describe('the simulation', () => {
  it(`loses nothing and tells nothing twice over ${SEEDS} seeds`, async () => {
    const played = await playAll(FIRST, SEEDS)
    const sum = (key: 'told' | 'mails' | 'uncertain' | 'deaths') => played.reduce((total, one) => total + one[key], 0)
    console.log(
      `${played.length} seeds: ${sum('told')} reminders, ${sum('mails')} mails taken, ${sum('deaths')} deaths, ${sum('uncertain')} uncertain`,
    )
    if (ONE !== undefined) console.log(played.map((one) => one.trace.join('\n')).join('\n'))
    const failed = played.filter(({ faults }) => faults.length > 0)
    expect(failed.slice(0, 3).map(say)).toEqual([])
    if (ONE === undefined) {
      // The chaos is there: without it the test would prove nothing.
      expect(sum('deaths')).toBeGreaterThan(SEEDS / 2)
      expect(sum('uncertain')).toBeGreaterThan(SEEDS / 20)
      expect(sum('mails')).toBeGreaterThan(SEEDS)
    }
  }, 600_000)

  it('is the same story for the same seed', async () => {
    const [lane] = lanes as [Lane]
    const [once, again] = [await play(lane, 42), await play(lane, 42)]
    const plain = (trace: readonly string[]) => trace.map((line) => line.replace(/[0-9a-f]{8}-[0-9a-f-]+/g, 'id'))
    expect(plain(again.trace)).toEqual(plain(once.trace))
    expect(once.trace.length).toBeGreaterThan(3)
  })

  it('finds a blind second sending and a message that is forgotten', async () => {
    const sendAgain: Sabotage = async ({ lane }) => {
      await lane.scope.run(`UPDATE message SET state = 'pending', lease_until = NULL WHERE state IN ('handing_over', 'uncertain')`)
    }
    const forget: Sabotage = async ({ lane }) => {
      await lane.scope.run(`UPDATE message SET state = 'sent', sent_at = created_at, lease_until = NULL WHERE state = 'claimed'`)
    }
    const faultsOf = async (sabotage: Sabotage) => (await playAll(1, 60, sabotage)).flatMap(({ faults }) => faults).join(' ')
    expect(await faultsOf(sendAgain)).toMatch(/was told [23] times/)
    expect(await faultsOf(forget)).toMatch(/was never told/)
  }, 120_000)
})
