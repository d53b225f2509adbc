/** The desk's larger jobs in a real browser: a fleet from a spreadsheet, a plan changed with its effect seen, a visit grouped by hand. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { AxeBuilder } from '@axe-core/playwright'
import { existsSync, mkdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { type Browser, type BrowserContext, chromium, type Page } from 'playwright-core'
import { type Client, clientOf, startSystem, until } from './support/running.js'

const CHROMIUM = '/usr/bin/chromium'
const FLAGS = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-sync']
const DESK = { width: 1280, height: 900 }
const PHONE = { width: 390, height: 844 }
const SHOTS = join(process.cwd(), '.data', 'shots')

let system: Awaited<ReturnType<typeof startSystem>>
let browser: Browser
let manager: Client
const faults: string[] = []
const who = (role: string) => system.signIns.find((person) => person.role === role)!

async function open(
  size: { width: number; height: number },
  role: string,
  address: string,
  timezoneId?: string,
): Promise<{ context: BrowserContext; page: Page }> {
  const context = await browser.newContext({ viewport: size, acceptDownloads: true, ...(timezoneId ? { timezoneId } : {}) })
  const page = await context.newPage()
  page.on('pageerror', (error) => faults.push(String(error)))
  await page.goto(address)
  await page.fill('input[type=email]', who(role).email)
  await page.fill('input[type=password]', who(role).password)
  await page.click('button:has-text("Sign in")')
  await page.waitForSelector('nav.places, h1:has-text("Here, today")')
  return { context, page }
}

async function violations(page: Page): Promise<string[]> {
  const { violations: found } = await new AxeBuilder({ page }).analyze()
  return found.flatMap(({ id, nodes }) => nodes.map(({ target }) => `${id}: ${target.join(' ')}`))
}
const to = (page: Page, path: string) => page.goto(new URL(path, system.urls.desk).href)
const isWide = (page: Page) => page.evaluate<boolean>('document.documentElement.scrollWidth - document.documentElement.clientWidth > 1')

const withBrowser = existsSync(CHROMIUM) ? describe : describe.skip

withBrowser('the desk in a browser', () => {
  beforeAll(async () => {
    mkdirSync(SHOTS, { recursive: true })
    system = await startSystem({ demo: 'full' })
    browser = await chromium.launch({ executablePath: CHROMIUM, args: FLAGS })
    manager = await clientOf(system)
    await manager.signIn(who('manager'))
    await until('the planning pass', 120, async () =>
      (await manager.get('/api/v1/warehouses')).items.every(({ upToDate }: any) => upToDate),
    )
  }, 300_000)
  afterAll(async () => {
    await browser?.close()
    await system?.stop()
  }, 60_000)

  it.each([
    ['desk', DESK],
    ['phone', PHONE],
  ] as const)(
    'at %s size brings fifty machines in from a spreadsheet and sees their dates',
    async (name, size) => {
      const [type] = (await manager.get('/api/v1/machine-types')).items
      const [hall] = (await manager.get('/api/v1/warehouses')).items
      const label = (at: number) => `${name === 'desk' ? 'IMP' : 'IMQ'}-${String(at).padStart(2, '0')}`
      const lines = Array.from({ length: 50 }, (_, at) => `${label(at)};${label(at)}-serial;${type.name};${hall.name};03.02.2025`)
      const file = join(system.dataDir, `fleet-${name}.csv`)
      writeFileSync(
        file,
        `\ufeffLabel;Serial number;Type;Site;Commissioned on\r\n${lines.join('\r\n')}\r\nno label;x;${type.name};${hall.name};\r\n`,
      )
      const { context, page } = await open(size, 'manager', system.urls.desk)
      const begun = Date.now()
      let clicks = 0
      const click = async (selector: string) => {
        clicks += 1
        await page.click(selector)
      }
      await to(page, 'machines')
      await click('a:has-text("From a file")')
      await page.setInputFiles('input[type=file]', file)
      await page.waitForLoadState('networkidle')
      expect(await violations(page)).toEqual([])
      await click('button:has-text("Read the file")')
      await page.waitForSelector('h2:has-text("Name the columns")')
      // 03.02.2025 is a day in February or in March: asked, never guessed.
      await page.selectOption('label:has-text("How are dates written?") + div select', 'dmy')
      expect(await violations(page)).toEqual([])
      await page.screenshot({ path: join(SHOTS, `${name}-import-map.png`), fullPage: true })
      await click('button:has-text("Begin the dry run")')
      await page.waitForSelector('text=dry run done', { timeout: 60_000 })
      expect(await page.textContent('main')).toContain('51 rows: 50 new, 1 refused')
      expect(await page.textContent('main')).toContain('is no label code.')
      await page.screenshot({ path: join(SHOTS, `${name}-import-checked.png`), fullPage: true })
      expect([await violations(page), await isWide(page)]).toEqual([[], false])
      await click('button:has-text("Write the 50 good rows only")')
      await page.waitForSelector('text=50 rows are in the books', { timeout: 60_000 })
      await until('dates of the new machines', 60, async () => {
        const { items } = await manager.get(`/api/v1/machines?search=${label(7)}`)
        return items[0]?.next
      })
      await to(page, `machines?search=${label(7)}`)
      await page.waitForSelector(`a:has-text("${label(7)}")`)
      expect(await page.textContent('main')).toMatch(/likely|between|\d{1,2} [A-Z][a-z]{2}/)
      // A new user clicks little: open, read, dry run, write; two fields: the file and the date form.
      expect(clicks).toBe(4)
      expect(Date.now() - begun).toBeLessThan(600_000)
      await context.close()
    },
    240_000,
  )

  it.each([
    ['desk', DESK],
    ['phone', PHONE],
  ] as const)(
    'at %s size begins with seven questions, prints labels, scans one where it stands and sends a test mail, within ten minutes',
    async (name, size) => {
      const { context, page } = await open(size, 'administrator', system.urls.desk)
      const begun = Date.now()
      const did = { clicks: 0, fields: 0 }
      const click = async (selector: string) => {
        did.clicks += 1
        await page.click(selector)
      }
      const fill = async (label: string, text: string) => {
        did.fields += 1
        await page.getByLabel(label, { exact: true }).fill(text)
      }
      const choose = async (label: string, option: string) => {
        did.fields += 1
        await page.getByLabel(label, { exact: true }).selectOption(option)
      }
      await click('a:has-text("Set-up")')
      await click('a:has-text("Begin with a warehouse")')
      await page.waitForSelector('h1:has-text("Begin with a warehouse")')
      expect([await violations(page), await isWide(page)]).toEqual([[], false])
      await fill('What do you call the warehouse?', `Ten minutes ${name}`)
      await fill('In which town?', 'Nashville')
      await page.waitForSelector('text=Its clocks run by America/Chicago.')
      await fill('How many machines stand there?', '12')
      await choose('Have they a plug, or are they wired in?', 'cord_and_plug')
      await choose('Who looks after them?', 'new')
      await fill('Their name', `Noor ${name}`)
      await fill('Their e-mail', `noor.${name}@ten.example`)
      await page.screenshot({ path: join(SHOTS, `${name}-begin.png`), fullPage: true })
      await click('button:has-text("Register")')
      await page.waitForSelector('h1:has-text("First steps")', { timeout: 60_000 })
      const file = page.waitForEvent('download')
      await click('button:has-text("12 labels as PDF")')
      expect((await file).suggestedFilename()).toBe('labels.pdf')
      await click('button:has-text("Send a test mail")')
      await page.waitForSelector('text=The mail server took the mail to noor', { timeout: 60_000 })
      await page.waitForSelector('text=machines want a first look', { timeout: 90_000 })
      await page.screenshot({ path: join(SHOTS, `${name}-first-steps.png`), fullPage: true })
      expect([await violations(page), await isWide(page)]).toEqual([[], false])
      // Seven questions, of which the heater and the second person stay 'don't know'; a new person takes two fields more.
      expect(did).toEqual({ clicks: 5, fields: 7 })
      expect(Date.now() - begun).toBeLessThan(600_000)

      await click('a:has-text("Scan, station by station")')
      await page.getByLabel('Station', { exact: true }).fill('P01')
      const warehouseId = page.url().split('/').at(-1) ?? ''
      const [first] = (await manager.get(`/api/v1/machines?warehouseId=${warehouseId}&order=label`)).items
      await page.getByLabel('Or type its code').fill(first.labelCode)
      await page.keyboard.press('Enter')
      await page.waitForSelector(`text=${first.labelCode} stands at P01.`)
      expect(await violations(page)).toEqual([])
      await until('its station in the books', 30, async () => (await manager.get(`/api/v1/machines/${first.id}`)).station?.name === 'P01')
      expect((await manager.get(`/api/v1/machines/${first.id}`)).lateOccurrences).toBe(0)
      await context.close()
    },
    300_000,
  )

  it('registers fifty machines in one form, changes two of them at once, and takes both back', async () => {
    const { context, page } = await open(DESK, 'manager', system.urls.desk)
    await to(page, 'set-up/register?what=machine')
    await page.getByLabel('How many').fill('50')
    await page.getByLabel('Labels begin with').fill('FIFTY-')
    await page.click('button.main:has-text("Register")')
    await page.waitForSelector('text=50 machines registered, FIFTY-001 to FIFTY-050')
    await page.waitForSelector('button:has-text("50 labels as PDF")')
    expect(await violations(page)).toEqual([])
    await to(page, 'machines?search=FIFTY-00')
    await page.getByLabel('Choose FIFTY-003').check()
    await page.getByLabel('Choose FIFTY-004').check()
    await page.click('button:has-text("Change them")')
    await page.getByLabel('Service firm').fill('Band & Sohn')
    expect(await violations(page)).toEqual([])
    await page.click('button:has-text("Change 2 machines")')
    await page.click('button:has-text("Take it back")')
    await page.waitForSelector('text=2 put back.')
    await page.locator('summary', { hasText: 'What was done to many at once' }).click()
    await page.getByLabel('Take back: registered: FIFTY-001 to FIFTY-050').click()
    await until('none of them', 30, async () => (await manager.get('/api/v1/machines?search=FIFTY-')).items.length === 0)
    await context.close()
  }, 120_000)

  it('corrects a wrong reading on the machine’s page and shows which dates move', async () => {
    const machines = (await manager.get('/api/v1/machines?limit=100')).items
    const machine = machines.find(({ machineType, status }: any) => machineType.counterKind === 'strips' && status === 'in_service')
    const inWeeks = new Date(Date.now() + 40 * 86_400_000).toISOString()
    await manager.post('/api/v1/evidence', { kind: 'counter_reading', machineId: machine.id, at: inWeeks, value: 123_456 })
    const { context, page } = await open(PHONE, 'manager', system.urls.desk)
    await to(page, `machines/${machine.id}`)
    const aside = page.locator('section[aria-labelledby=aside]')
    await aside.waitFor()
    expect(await aside.textContent()).toMatch(/It is for \d{1,2} [A-Z][a-z]{2} \d{4}, \d\d:\d\d, which lies in the future/)
    await aside.locator('summary').first().click()
    await aside.getByLabel('Why it is dismissed').first().fill('typed on the wrong day')
    expect([await violations(page), await isWide(page)]).toEqual([[], false])
    await aside.locator('button:has-text("Dismiss")').first().click()
    await page.waitForSelector('text=/Written down and worked in/', { timeout: 60_000 })
    await page.screenshot({ path: join(SHOTS, 'phone-set-aside.png'), fullPage: true })
    await context.close()
  }, 120_000)

  it.each([
    ['desk', DESK],
    ['phone', PHONE],
  ] as const)(
    'at %s size shows the newest care of a machine first, and older care when asked, to the first',
    async (name, size) => {
      const most = { id: '', done: [] as any[] }
      for (const { id } of await manager.all('/api/v1/machines')) {
        const done = await manager.all(`/api/v1/machines/${id}/service-records`)
        if (done.length > most.done.length) Object.assign(most, { id, done })
        if (done.length > 30) break
      }
      expect(most.done.length).toBeGreaterThan(15)
      const { context, page } = await open(size, 'manager', system.urls.desk)
      await to(page, `machines/${most.id}`)
      const care = page.locator('section[aria-labelledby=done]')
      await care.getByText('The newest 15.').waitFor()
      expect(await care.locator('li').count()).toBe(15)
      await page.screenshot({ path: join(SHOTS, `${name}-machine-care.png`), fullPage: true })
      const older = care.getByRole('button', { name: 'Older ones' })
      for (let shown = 15; shown < most.done.length; shown = await care.locator('li').count()) {
        await older.click()
        await care.locator('li').nth(shown).waitFor()
      }
      expect(await care.locator('li').count()).toBe(most.done.length)
      await older.waitFor({ state: 'detached' })
      expect(await isWide(page)).toBe(false)
      expect(await violations(page)).toEqual([])
      await context.close()
    },
    120_000,
  )

  it('shows which dates a changed plan moves before it is saved', async () => {
    const { context, page } = await open(DESK, 'manager', system.urls.desk)
    await to(page, 'set-up')
    await page.click('a:has-text("Service plan, version 1") >> nth=0')
    await page.waitForSelector('a:has-text("Write a new version")')
    expect(await page.textContent('h1')).toMatch(/^Service plan, version 1 of Bench electric.*, from \d+ \w+ 20\d\d$/)
    await page.click('a:has-text("Write a new version")')
    const task = page.locator('details.task').filter({ hasText: 'Measure both motor brushes' })
    await task.locator('summary').click()
    await task.getByLabel('Every').first().fill('3')
    await page.click('button:has-text("Show which dates move")')
    await page.waitForSelector('h2:has-text("What this version would do")')
    expect(await page.textContent('section[aria-labelledby=effect]')).toContain('From 6 months to 3 months.')
    expect(await violations(page)).toEqual([])
    await page.click('button:has-text("Save as version 2")')
    await page.waitForSelector('text=This version holds.')
    expect(await page.textContent('h1')).toContain('Service plan, version 2')
    await context.close()
  }, 120_000)

  it('groups orders into a visit, which the technician then finds on the phone', async () => {
    const technician = await clientOf(system)
    const me: any = await technician.signIn(who('technician'))
    const serves = new Set(me.warehouses.map(({ id }: any) => id))
    const order = (await manager.all('/api/v1/work-orders?state=drafted')).find(
      ({ warehouse, skill }: any) => serves.has(warehouse.id) && skill === 'technician',
    )
    const { context, page } = await open(DESK, 'manager', system.urls.desk)
    await to(page, `visits/new?warehouseId=${order.warehouse.id}`)
    await page.getByLabel('Technician', { exact: true }).selectOption(me.person.id)
    await page.locator('label.box').filter({ hasText: order.machine.labelCode }).first().locator('input').check()
    expect(await violations(page)).toEqual([])
    await page.click('button:has-text("Save, and issue its orders")')
    await page.waitForSelector('h1:has-text("Visit to") span')
    await context.close()
    const onSite = await open(PHONE, 'technician', system.urls.onSite)
    await onSite.page.click('section[aria-label="Your visits"] a')
    await onSite.page.waitForSelector('text=1 of 1 still to do')
    await onSite.page.screenshot({ path: join(SHOTS, 'phone-visit.png') })
    expect(await violations(onSite.page)).toEqual([])
    await onSite.page.click(`a:has-text("${order.machine.labelCode}")`)
    await onSite.page.waitForSelector('button:has-text("Accept")')
    await onSite.context.close()
  }, 120_000)

  it('says on a machine’s page which of its care is on the books already', async () => {
    const { items } = await manager.get('/api/v1/occurrences?state=open&limit=200')
    const found = {
      'Do not use until checked': items.find(({ doNotUse }: any) => doNotUse),
      'late since': items.find(({ late, doNotUse }: any) => late && !doNotUse),
      'on this month’s list': items.find(({ kind }: any) => kind === 'monthly'),
      order: items.find(({ workOrder }: any) => workOrder),
    }
    const { context, page } = await open(PHONE, 'manager', system.urls.desk)
    for (const [words, one] of Object.entries<any>(found)) {
      await to(page, `/machines/${one.machineId}`)
      const row = page.locator('section[aria-labelledby=dates] tr', { hasText: one.taskName }).first()
      await row.getByText(words).first().waitFor()
      expect([words, await row.getByRole('link').count()]).toEqual([words, one.workOrder ? 1 : 0])
    }
    expect([await violations(page), await isWide(page)]).toEqual([[], false])
    await context.close()
  }, 90_000)

  it('finds a machine by its label from any page, by the keyboard alone', async () => {
    const [first, second] = (await manager.get('/api/v1/machines?limit=2&search=ML-1&order=closest')).items
    const { context, page } = await open(DESK, 'manager', system.urls.desk)
    await to(page, '/work')
    await page.waitForSelector('h1')
    await page.keyboard.press('Alt+l')
    await page.keyboard.type('ml-1')
    await page.waitForSelector('[role=option]:has-text("More with")')
    expect(await violations(page)).toEqual([])
    await page.keyboard.press('ArrowDown')
    await page.keyboard.press('ArrowDown')
    await page.keyboard.press('Enter')
    await page.waitForURL(`**/machines/${second.id}`)
    await page.waitForSelector(`h1:has-text("${second.labelCode}")`)
    // As a hand scanner types it: the whole label and Enter, before any list could come.
    await page.keyboard.press('Alt+l')
    await page.keyboard.type(`${first.labelCode}\n`)
    await page.waitForURL(`**/machines/${first.id}`)
    await page.waitForSelector(`h1:has-text("${first.labelCode}")`)
    await page.keyboard.press('Alt+l')
    await page.keyboard.type('NO-SUCH-LABEL')
    await page.waitForSelector('text=No label or serial number holds ‘NO-SUCH-LABEL’')
    expect(await violations(page)).toEqual([])
    await page.keyboard.press('Escape')
    await context.close()
    const phone = await open(PHONE, 'manager', system.urls.desk)
    await phone.page.fill('.find input', first.labelCode)
    await phone.page.waitForSelector('[role=option]')
    expect(await isWide(phone.page)).toBe(false)
    await phone.page.click('[role=option] >> nth=0')
    await phone.page.waitForURL(`**/machines/${first.id}`)
    await phone.context.close()
  }, 120_000)

  it('adds a part, refuses a stock code twice in words, counts it, and says what the next days ask for', async () => {
    const { context, page } = await open(PHONE, 'manager', system.urls.desk)
    await to(page, '/parts?sure=99&days=180')
    await page.waitForSelector('text=in the next 180 days')
    expect(await page.textContent('ul.sentences')).toContain('with 99 % certainty')
    await page.click('details summary >> nth=0')
    await page.click('button:has-text("Add a part…")')
    const form = page.getByRole('form', { name: 'Add a part' })
    // The button that was pressed is gone: the first field has the focus.
    await page.waitForSelector('input[name=name]:focus')
    const [known] = (await manager.get('/api/v1/parts?limit=200')).items
    await form.getByLabel('Name').fill('Felt pad')
    await form.getByLabel('Stock code').fill(known.stockCode)
    await form.getByRole('checkbox').first().check()
    await form.getByRole('button', { name: 'Keep' }).click()
    await page.waitForSelector('[role=alert]:has-text("Another part has this stock code")')
    await form.getByLabel('Stock code').fill('FP-1')
    await form.getByRole('button', { name: 'Keep' }).click()
    await page.getByRole('button', { name: 'Count at another warehouse… Felt pad' }).click()
    const count = page.getByRole('form', { name: 'Count Felt pad' })
    await count.getByLabel('On hand').fill('7')
    await count.getByLabel('Give or take, days').fill('3')
    expect(await violations(page)).toEqual([])
    expect(await isWide(page)).toBe(false)
    await count.getByRole('button', { name: 'Keep' }).click()
    await page.waitForSelector('td:has-text("14 ± 3")')
    const felt = (await manager.get('/api/v1/parts?search=FP-1')).items[0]
    expect(felt).toMatchObject({ name: 'Felt pad', stock: [{ onHand: 7, leadTimeDays: 14, leadTimeSpreadDays: 3 }] })
    await page.getByRole('button', { name: 'Change… Felt pad' }).click()
    await page.getByRole('button', { name: 'Take it out of the books…' }).click()
    await page.getByRole('group', { name: 'Take Felt pad out of the books' }).getByRole('button', { name: 'Take it out' }).click()
    await page.waitForSelector('strong:has-text("Felt pad")', { state: 'detached' })
    await page.click('summary:has-text("Parts out of the books")')
    expect([await violations(page), await isWide(page)]).toEqual([[], false])
    await page.getByRole('button', { name: 'Put back Felt pad' }).click()
    await page.waitForSelector('strong:has-text("Felt pad")')
    await context.close()
  }, 120_000)

  it('tells how long blades last and how good its dates have been, and opens the rows behind a measure', async () => {
    const { context, page } = await open(DESK, 'manager', new URL('/stoppages', system.urls.desk).href)
    await until('dates looked back on', 90, async () => (await manager.get('/api/v1/review/dates')).workedOutOn !== null)
    await page.reload()
    const life = await manager.get('/api/v1/review/life-curve')
    await page.waitForSelector(`section[aria-labelledby=life] >> text=${life.sentences[0]}`)
    await page.click('section[aria-labelledby=life] >> text=The same as a table')
    expect(await page.locator('section[aria-labelledby=life] figure tbody tr').count()).toBe(life.seen.length)
    const dates = await manager.get('/api/v1/review/dates')
    await page.waitForSelector(`section[aria-labelledby=dates] >> text=${dates.sentences[0]}`)
    await page.click('text=The measures and how each is made')
    const review = await manager.get(`/api/v1/review?from=${await page.inputValue('#from')}&to=${await page.inputValue('#to')}`)
    const measure = review.measures.find(({ key }: any) => key === 'mean_hours_to_back_in_use')
    await page.click(`a[aria-label="Rows behind: ${measure.name}"]`)
    await page.waitForSelector('h2#rows:has-text("the unplanned ones, back in use, begun in the period")')
    await page.waitForSelector(`text=/^${measure.estimate.n} stoppages\\.$/`)
    expect(await violations(page)).toEqual([])
    const paper = page.locator('.print-only')
    expect(await paper.first().isVisible()).toBe(false)
    await page.emulateMedia({ media: 'print' })
    const said = (await paper.allInnerTexts()).join('\n')
    expect(said).toMatch(/printed by .+ on \d+ \w+/)
    expect(said).toMatch(/\d+ \w+ 20\d\d to \d+ \w+ 20\d\d, all warehouses, all machine types\./)
    await context.close()
  }, 150_000)

  it('asks early, as its places are opened, for just what they show, and brings their scripts together', async () => {
    const [first] = (await manager.get('/api/v1/me')).warehouses
    const { zone } = (await manager.get('/api/v1/warehouses')).items.find(({ id }: any) => id === first.id)
    const { context } = await open(DESK, 'manager', system.urls.desk, zone)
    const places = ['', 'coming-up', 'machines', 'work', 'stoppages', 'parts']
    const found: unknown[] = []
    for (const place of places) {
      const page = await context.newPage()
      await to(page, place)
      await page.waitForSelector('main h1')
      await page.waitForSelector('[aria-busy=true]', { state: 'detached' })
      const names = await page.evaluate<string[]>(`performance.getEntriesByType('resource').map(({ name }) => new URL(name).pathname)`)
      const scripts = names.filter((name) => name.endsWith('.js'))
      const preloaded = await page.evaluate<string[]>(
        `[...document.querySelectorAll('link[rel=modulepreload], script[src]')].map(({ href, src }) => new URL(href ?? src).pathname)`,
      )
      const asked = names.filter((name) => name.startsWith('/api/'))
      found.push([
        place,
        await page.evaluate('[...tapewardenEarly.keys()]'),
        scripts.filter((name) => !preloaded.includes(name)),
        asked.filter((name, at) => asked.indexOf(name) !== at && !name.endsWith('/rounds')),
      ])
      await page.close()
    }
    // Nothing that no page took, no script that was named only by another one, nothing asked for twice.
    expect(found).toEqual(places.map((place) => [place, [], [], []]))
    await context.close()
  }, 120_000)

  it('has met no fault in any page', () => expect(faults).toEqual([]))
})
