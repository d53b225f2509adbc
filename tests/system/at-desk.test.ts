/** What can be put right at the desk, each in a real browser, all on one installation: to start one costs as much as to try. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { existsSync } from 'node:fs'
import { badLine, typedStays } from './at-desk/bad-line.js'
import { machineBooks } from './at-desk/machine-books.js'
import { orders } from './at-desk/orders.js'
import { oneStoppage } from './at-desk/one-stoppage.js'
import { setUp } from './at-desk/set-up.js'
import { CHROMIUM, type DeskGround, startDeskGround } from './support/desk-ground.js'

const withBrowser = existsSync(CHROMIUM) ? describe : describe.skip

withBrowser('put right at the desk', () => {
  let desk: DeskGround
  const ground = (): DeskGround => desk
  beforeAll(async () => {
    desk = await startDeskGround()
  }, 300_000)
  afterAll(() => desk?.stop(), 60_000)

  oneStoppage(ground)
  machineBooks(ground)
  setUp(ground)
  orders(ground)
  badLine(ground)
  typedStays(ground)

  it('has met no fault in any page', () => expect(desk.faults).toEqual([]))
})
