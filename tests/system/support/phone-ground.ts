/** What the tests of the on-site pages stand on: one server, one browser, a technician's phone. */
import type { Browser, BrowserContext, Page } from 'playwright-core'
import { type Client, clientOf, type Started } from './running.js'
import { watchTaps } from './taps.js'
import { issuedTo, type Wanted } from './work-at-hand.js'

export interface Ground {
  system: Started
  browser: Browser
  manager: Client
  /** Of whatever is shown. */
  open(size: { width: number; height: number }): Promise<{ context: BrowserContext; page: Page }>
  signIn(page: Page, address: string, role: string): Promise<void>
  /** What the pretended camera sees. */
  film: string
  shots: string
}
export const PHONE = { width: 390, height: 844 }
export const who = ({ system }: Ground, role: string) => system.signIns.find((person) => person.role === role)!

export async function technicianOf(ground: Ground): Promise<{ client: Client; id: string; warehouseIds: string[] }> {
  const client = await clientOf(ground.system)
  const me: any = await client.signIn(who(ground, 'technician'))
  return { client, id: me.person.id, warehouseIds: me.warehouses.map(({ id }: any) => id) }
}

export const issued = async (ground: Ground, wanted?: Wanted): Promise<any> => issuedTo(ground.manager, await technicianOf(ground), wanted)

export async function phone(ground: Ground): Promise<{ context: BrowserContext; page: Page }> {
  const opened = await ground.open(PHONE)
  await watchTaps(opened.page)
  await ground.signIn(opened.page, ground.system.urls.onSite, 'technician')
  await opened.page.waitForSelector('text=/open here without a network/')
  return opened
}
