/**
 * Every page in every state, with eyes and hands: axe, light and dark, 320 px, letters at 200 %, forced colours, reduced motion, Tab.
 * Each place in one of its states. SWEEP=all: every place in every state, with pictures in .data/shots/sweep. SWEEP=pictures:
 * those, and what is cut, of every place with much and with nothing in it; quicker, to look through after a change of the look.
 * SWEEP=states: every place in every state, each looked at as thoroughly as always.
 */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { appendFileSync, existsSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import { type Browser, chromium } from 'playwright-core'
import { type Ground, startGround } from './support/sweep/ground.js'
import { faultsOf, SHOTS, type Thoroughness } from './support/sweep/look.js'
import { type Place, PLACES, type State, STATES } from './support/sweep/places.js'

const CHROMIUM = '/usr/bin/chromium'
const FLAGS = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-sync']
const withBrowser = existsSync(CHROMIUM) ? describe : describe.skip
const { SWEEP } = process.env
/** What was found, as it comes: the whole cross takes long. */
const REPORT = join(SHOTS, 'report.txt')

/** Always the same state for a place, so that a fault comes back until it is mended; light and dark in turn. */
const stateOf = ({ states }: Place, index: number): State => states[index % states.length]!
const stop = (place: Place, state: State, index: number): [string, Place, State, Thoroughness] => [
  `${place.name}, ${state}`,
  place,
  state,
  { tabs: 25, scheme: index % 2 === 0 ? 'light' : 'dark', whole: false },
]
const ALL_WAYS: Thoroughness = SWEEP === 'pictures' ? { tabs: 0, scheme: null, whole: true } : { tabs: 1000, scheme: 'both', whole: true }
/** All ways for what a page holds, much or nothing; for a page that failed what is cheap. */
const CROSS = STATES.filter((state) => SWEEP !== 'pictures' || state === 'much' || state === 'none').flatMap((state) =>
  PLACES.filter(({ states }) => states.includes(state)).map((place, index) => {
    const one = stop(place, state, index)
    return SWEEP !== 'states' && (state === 'much' || state === 'none') ? ([...one.slice(0, 3), ALL_WAYS] as typeof one) : one
  }),
)
const STOPS = SWEEP ? CROSS : PLACES.map((place, index) => stop(place, stateOf(place, index), index))

let browser: Browser
let ground: Ground

withBrowser('the sweep', () => {
  beforeAll(async () => {
    rmSync(REPORT, { force: true })
    browser = await chromium.launch({ executablePath: CHROMIUM, args: FLAGS })
    ground = await startGround(browser)
  }, 300_000)
  afterAll(async () => {
    await browser?.close()
    await ground?.stop()
  }, 60_000)

  it.each(STOPS)(
    'finds nothing wrong with %s',
    async (name, place, state, how) => {
      const page = await ground.open(place, state)
      const found = [...(await faultsOf(page, place, state, how)), ...ground.thrown()]
      await page.close()
      if (SWEEP) appendFileSync(REPORT, `${[name, ...found].join('\n    ')}\n`)
      expect(found).toEqual([])
    },
    SWEEP ? 600_000 : 120_000,
  )
})
