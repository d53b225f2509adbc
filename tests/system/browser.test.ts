/** A manager's and a technician's part of the ring in a real browser, at desk and phone size, with axe on every page. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { AxeBuilder } from '@axe-core/playwright'
import { existsSync, mkdirSync } from 'node:fs'
import { join } from 'node:path'
import { type Browser, type BrowserContext, chromium, type Page } from 'playwright-core'
import { cameraFlags, filmOf } from './support/fake-camera.js'
import { onSiteTests } from './support/on-site-tests.js'
import { type Client, clientOf, startSystem, type Started, until } from './support/running.js'
import { tapNew } from './support/phone-sheet.js'
import { issuedTo } from './support/work-at-hand.js'

const CHROMIUM = '/usr/bin/chromium'
const FLAGS = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
]
const DESK = { width: 1280, height: 900 }
const PHONE = { width: 390, height: 844 }
const SHOTS = join(process.cwd(), '.data', 'shots')
const FILM = join(SHOTS, 'camera.y4m')

let system: Awaited<ReturnType<typeof startSystem>>
let browser: Browser
let manager: Client
const faults: string[] = []

async function open(
  size: { width: number; height: number },
  scheme: 'light' | 'dark' = 'light',
): Promise<{ context: BrowserContext; page: Page }> {
  const context = await browser.newContext({ viewport: size, colorScheme: scheme })
  const page = await context.newPage()
  page.on('pageerror', (error) => faults.push(String(error)))
  return { context, page }
}

const who = (started: Started, role: string) => started.signIns.find((person) => person.role === role)!

async function signIn(page: Page, address: string, role: string): Promise<void> {
  await page.goto(address)
  await page.fill('input[type=email]', who(system, role).email)
  await page.fill('input[type=password]', who(system, role).password)
  await page.click('button:has-text("Sign in")')
  await page.waitForSelector('nav.places, h1:has-text("Here, today")')
}

async function violations(page: Page): Promise<string[]> {
  const { violations: found } = await new AxeBuilder({ page }).analyze()
  return found.flatMap(({ id, nodes }) => nodes.map(({ target }) => `${id}: ${target.join(' ')}`))
}

const shoot = (page: Page, name: string): Promise<unknown> => page.screenshot({ path: join(SHOTS, `${name}.png`) })

const withBrowser = existsSync(CHROMIUM) ? describe : describe.skip

withBrowser('in a browser', () => {
  beforeAll(async () => {
    mkdirSync(SHOTS, { recursive: true })
    system = await startSystem({ demo: 'full' })
    browser = await chromium.launch({ executablePath: CHROMIUM, args: [...FLAGS, ...cameraFlags(FILM)] })
    manager = await clientOf(system)
    await manager.signIn(who(system, 'manager'))
    await until('the planning pass', 120, async () =>
      (await manager.get('/api/v1/warehouses')).items.every(({ upToDate }: any) => upToDate),
    )
  }, 300_000)
  afterAll(async () => {
    await browser?.close()
    await system?.stop()
  })

  const pages: readonly [string, string][] = [
    ['', 'This week'],
    ['coming-up', 'Coming up'],
    ['machines', 'Machines'],
    ['work', 'Work'],
    ['stoppages', 'Stoppages'],
    ['parts', 'Parts'],
    ['set-up', 'Set-up'],
    ['evidence', 'Evidence set aside'],
  ]

  for (const [size, name] of [
    [DESK, 'desk'],
    [PHONE, 'phone'],
  ] as const)
    it(`shows the manager every place at ${name} size, without a fault that axe knows`, async () => {
      const { context, page } = await open(size)
      await signIn(page, system.urls.desk, 'manager')
      for (const [path, heading] of pages) {
        await page.goto(new URL(path, system.urls.desk).href)
        await page.waitForSelector(`h1:has-text("${heading}")`)
        await page.waitForLoadState('networkidle')
        await shoot(page, `${name}-${path || 'this-week'}`)
        expect([heading, await violations(page)]).toEqual([heading, []])
        const wide = await page.evaluate<number>('document.documentElement.scrollWidth - document.documentElement.clientWidth')
        expect([heading, wide <= 1]).toEqual([heading, true])
      }
      await context.close()
    }, 240_000)

  it('tells one machine’s story with dates that say why', async () => {
    const { context, page } = await open(DESK)
    await signIn(page, system.urls.desk, 'manager')
    const [machine] = (await manager.get('/api/v1/machines?limit=5&order=walking')).items
    await page.goto(new URL(`machines/${machine.id}`, system.urls.desk).href)
    await page.waitForSelector(`h1:has-text("${machine.labelCode}")`)
    await page.waitForLoadState('networkidle')
    const { items } = await manager.get(`/api/v1/machines/${machine.id}/forecasts`)
    const said = await page.textContent('main')
    const dated = items.find(({ likelyOn }: any) => likelyOn !== null)
    expect(said).toContain(dated.why)
    await shoot(page, 'desk-machine')
    expect(await violations(page)).toEqual([])
    await context.close()
  }, 120_000)

  it('lets the manager issue an order and the technician work it on a phone, also without a network', async () => {
    const technician = await clientOf(system)
    const me: any = await technician.signIn(who(system, 'technician'))
    // The words looked for are those of a machine with a plug.
    const order = await issuedTo(
      manager,
      { id: me.person.id, warehouseIds: me.warehouses.map(({ id }: any) => id) },
      { order: ({ reach }) => reach === 'cover_off', sheet: ({ machine }) => machine.supply === 'cord_and_plug' },
    )

    const { context, page } = await open(PHONE)
    await signIn(page, system.urls.onSite, 'technician')
    await page.waitForSelector(`text=${order.machine.labelCode}`)
    await shoot(page, 'phone-here-today')
    expect(await violations(page)).toEqual([])
    await page.goto(`${system.urls.onSite}#/order/${order.id}`)
    await page.click('button:has-text("Accept")')
    await page.waitForSelector('text=The plug is out and with me.')
    await shoot(page, 'phone-cautions')
    expect(await violations(page)).toEqual([])
    await tapNew(page, 'button:has-text("I have read this")')
    await tapNew(page, 'button:has-text("Begin")')
    await page.waitForSelector('text=Step 1 of')
    await shoot(page, 'phone-step')
    expect(await violations(page)).toEqual([])

    await context.setOffline(true)
    await page.click('button.main')
    await page.waitForSelector('text=/only on this phone/')
    await shoot(page, 'phone-offline')
    await context.setOffline(false)
    await page.evaluate("dispatchEvent(new Event('online')) && null")
    const sheet = await until('the entry on the server', 30, async () => {
      const now = await manager.get(`/api/v1/work-orders/${order.id}`)
      return now.entries.some(({ kind }: any) => kind === 'answer_step' || kind === 'measure') ? now : null
    })
    expect(sheet.state).toBe('under_way')
    // Whoever packs there is told that somebody works on it, and does not end that.
    await manager.post('/api/v1/labels', { machineIds: [order.machine.id] })
    const { labelToken } = (await technician.all('/api/v1/on-site-machines')).find(({ id }) => id === order.machine.id)
    const packer = await open(PHONE)
    await packer.page.goto(new URL(`L/${labelToken}`, system.urls.desk).href)
    await packer.page.getByText('Somebody is working on it.').waitFor()
    expect(await packer.page.getByRole('button', { name: 'Works again' }).count()).toBe(0)
    await packer.context.close()
    expect(sheet.entries.map(({ kind }: any) => kind)).toEqual(expect.arrayContaining(['accept', 'acknowledge_cautions', 'start']))
    await context.close()
  }, 180_000)

  it('opens a machine by the camera, a hand scanner and its letters, also without a network', async () => {
    const technician = await clientOf(system)
    await technician.signIn(who(system, 'technician'))
    const list = async (): Promise<any[]> => (await technician.get('/api/v1/on-site-machines?limit=200')).items
    const [first, second] = (await list()).filter(({ station }) => station !== null)
    await manager.post('/api/v1/labels', { machineIds: [first.id] })
    const { labelToken } = (await list()).find(({ id }) => id === first.id)
    filmOf(`https://tape.example/L/${labelToken}`, FILM)

    const { context, page } = await open(PHONE)
    await signIn(page, system.urls.onSite, 'technician')
    await page.waitForSelector('text=/open here without a network/')
    await page.waitForFunction('navigator.serviceWorker.controller !== null')
    // The service worker brings the decoder along; then nothing is asked of the network.
    await page.waitForFunction(
      "(async () => { for (const name of await caches.keys()) for (const { url } of await (await caches.open(name)).keys()) if (url.includes('jsQR')) return true; return false })()",
    )
    await context.setOffline(true)
    await page.goto(system.urls.onSite)
    await page.click('button:has-text("Scan a label")')
    await page.waitForSelector(`h1:has-text("${first.labelCode}")`)
    await shoot(page, 'phone-scanned')
    expect(await violations(page)).toEqual([])

    await page.click('.kept a')
    await page.waitForSelector('h1:has-text("Here, today")')
    // As fast as a hand scanner, which the way from here to the browser is not on a loaded machine.
    const keys = JSON.stringify([...second.labelCode.toLowerCase().split(''), 'Enter'])
    await page.evaluate(`${keys}.forEach((key) => document.body.dispatchEvent(new KeyboardEvent('keydown', { key, bubbles: true })))`)
    await page.waitForSelector(`h1:has-text("${second.labelCode}")`)
    await page.click('.kept a')
    await page.fill('#code', first.labelCode)
    await page.click('button:has-text("Open")')
    await page.waitForSelector(`h1:has-text("${first.labelCode}")`)
    await page.click('button:has-text("It stands elsewhere")')
    await page.waitForSelector('label:has-text("Station where it stands now")')
    expect(await violations(page)).toEqual([])
    await context.close()
  }, 180_000)

  it('shows a wrong password in words, and the dark form without a fault', async () => {
    const { context, page } = await open(PHONE, 'dark')
    await page.goto(system.urls.desk)
    await page.fill('input[type=email]', 'nobody@marrowlane.example')
    await page.fill('input[type=password]', 'not the password')
    await page.click('button:has-text("Sign in")')
    await page.waitForSelector('[role=alert]')
    expect(await violations(page)).toEqual([])
    await context.close()
  }, 60_000)

  onSiteTests(() => ({ system, browser, manager, open, signIn, film: FILM, shots: SHOTS }))

  it('throws no error in any page', () => {
    expect(faults).toEqual([])
  })
})
