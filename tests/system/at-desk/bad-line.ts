/** The desk on a line that loses answers: the server did the work and nobody here heard of it. What is sent again is done once. */
import { beforeAll, describe, expect, it } from '@jest/globals'
import type { Locator, Page } from 'playwright-core'
import { DESK, type DeskGround, wrongWith } from '../support/desk-ground.js'
import type { Client } from '../support/running.js'

const LOST = 'The server cannot be reached. What you typed is still here; try again when the network is back.'
const field = (root: Page | Locator, label: string, kind = 'input'): Locator =>
  root.locator(`label:text-is("${label}") >> xpath=../div >> ${kind}`)

/** The next request to this address arrives and is answered; its answer is lost. */
const loseAnswer = (page: Page, address: RegExp): Promise<unknown> =>
  page.route(
    address,
    async (route) => {
      await route.fetch()
      await route.abort('connectionreset')
    },
    { times: 1 },
  )

export const badLine = (ground: () => DeskGround): void =>
  describe('a line that loses answers', () => {
    let administrator: Client
    let manager: Client
    let page: Page
    let machine: any
    let hall: any
    beforeAll(async () => {
      administrator = await ground().client('administrator')
      manager = await ground().client('manager')
      machine = (await manager.get('/api/v1/machines?limit=1&status=in_service&search=ML-')).items[0]
      hall = (await manager.get('/api/v1/warehouses')).items[0]
      page = await ground().open(DESK, 'administrator', '/')
    }, 60_000)
    /** Pressed, the answer lost, pressed again. */
    const pressTwice = async (button: Locator, address: RegExp): Promise<void> => {
      await loseAnswer(page, address)
      await button.click()
      await page.getByText(LOST).waitFor()
      await button.click()
      await page.getByText(LOST).waitFor({ state: 'detached' })
    }

    it('writes a thing that was seen down once, and another one beside it', async () => {
      await ground().to(page, `/machines/${machine.id}`)
      const found = page.locator('section[aria-labelledby="found"]')
      const write = async (text: string, send: (button: Locator) => Promise<unknown>): Promise<void> => {
        await found.locator('summary:has-text("Write down something that was seen")').click()
        await field(page, 'What was seen').fill(text)
        await send(found.locator('form button'))
        await page.getByText(`“${text}”`).first().waitFor()
      }
      await write('Rattles at the start', (button) => pressTwice(button, /\/findings$/))
      await write('Rattles at the end', (button) => button.click())
      const texts = (await manager.get(`/api/v1/machines/${machine.id}/findings`)).items.map(({ text }: any) => text)
      expect(texts.filter((text: string) => text.startsWith('Rattles')).toSorted()).toEqual(['Rattles at the end', 'Rattles at the start'])
    }, 60_000)

    it('saves a visit once, also where it is changed before it is sent again', async () => {
      const noted = async () =>
        (await manager.all(`/api/v1/visits?warehouseId=${hall.id}`)).filter(({ note }) => note.startsWith('Bad line'))
      await ground().to(page, `/visits/new?warehouseId=${hall.id}`)
      await page.getByLabel('Note for the technician').fill('Bad line')
      await loseAnswer(page, /\/api\/v1\/visits$/)
      await page.click('button:text-is("Save the visit")')
      await page.getByText(LOST).waitFor()
      await page.getByLabel('Note for the technician').fill('Bad line, again')
      await page.click('button:text-is("Save the visit")')
      await page.getByText('What you sent before had arrived; only its answer was lost.').waitFor()
      expect((await noted()).map(({ note }) => note)).toEqual(['Bad line'])
      expect(await page.getByLabel('Note for the technician').inputValue()).toBe('Bad line, again')
    }, 60_000)

    it('takes a reading that is pressed twice, and sent again, once', async () => {
      await ground().to(page, `/machines/${machine.id}`)
      const kinds = async () =>
        (await manager.all(`/api/v1/evidence?machineId=${machine.id}`)).filter(
          ({ kind }) => kind === 'monthly_tap' || kind === 'counter_reading',
        )
      const before = (await kinds()).length
      const button = page.locator('form:has(#reading) button, form:has(#runs) button')
      await button.waitFor()
      const counter = page.locator('#reading')
      if ((await counter.count()) > 0) await counter.fill('1')
      await pressTwice(button, /\/api\/v1\/evidence$/)
      expect((await kinds()).length).toBe(before + 1)
    }, 60_000)

    it('registers machines of a new type where the line broke between the type and the machines', async () => {
      await ground().to(page, '/set-up/register?what=machine')
      await page.click('button:text-is("Another type…")')
      await page.fill('input[name=typeName]', 'Bench of the bad line')
      for (const [name, value] of [
        ['shortest', '150'],
        ['longest', '900'],
        ['count', '2'],
        ['prefix', 'BAD-'],
      ] as const)
        await page.fill(`input[name=${name}]`, value)
      await pressTwice(page.locator('form button.main'), /\/machines\/counted$/)
      await page.getByText('2 machines registered, BAD-001 to BAD-002').waitFor()
      expect(await manager.all('/api/v1/machines?search=BAD-')).toHaveLength(2)
      expect((await manager.all('/api/v1/machine-types')).filter(({ name }) => name === 'Bench of the bad line')).toHaveLength(1)
    }, 60_000)

    it('begins one warehouse, not two', async () => {
      await ground().to(page, '/begin')
      await page.getByLabel('What do you call the warehouse?').fill('Hall behind the hill')
      await pressTwice(page.locator('button.main'), /\/api\/v1\/beginnings$/)
      await page.waitForURL(/\/begin\/.+/)
      expect((await administrator.all('/api/v1/warehouses')).filter(({ name }) => name === 'Hall behind the hill')).toHaveLength(1)
    }, 60_000)

    it('says of a key whose text was lost that it is there, and makes the next one', async () => {
      await ground().to(page, '/set-up/access-keys')
      await field(page, 'Name').fill('Night job')
      const button = page.locator('button:text-is("Make the key")')
      await pressTwice(button, /\/api\/v1\/access-keys$/)
      await page.getByText('what it shows only once was lost on the way').waitFor()
      const keys = async () => (await administrator.get('/api/v1/access-keys')).items.filter(({ name }: any) => name === 'Night job')
      expect(await keys()).toHaveLength(1)
      await button.click()
      await page.getByText('The key for Night job. Copy it now: it is not shown again.').waitFor()
      expect(await keys()).toHaveLength(2)
    }, 60_000)
  })

/** Everything that the page asks of the api from now on. */
const API = (url: URL): boolean => url.pathname.startsWith('/api/')
const SEEN = 'label:text-is("What was seen") >> xpath=../div >> input'

export const typedStays = (ground: () => DeskGround): void =>
  describe('what is being typed stays', () => {
    let manager: Client
    let machine: any
    beforeAll(async () => {
      manager = await ground().client('manager')
      machine = (await manager.get('/api/v1/machines?limit=1&status=in_service&search=ML-')).items[0]
    })
    const typing = async (words: string): Promise<Page> => {
      const page = await ground().open(DESK, 'manager', `/machines/${machine.id}`)
      await page.locator('summary:has-text("Write down something that was seen")').click()
      await page.fill(SEEN, words)
      return page
    }
    const send = (page: Page): Promise<unknown> => page.click('section[aria-labelledby="found"] form button')
    const written = async (words: string) =>
      (await manager.get(`/api/v1/machines/${machine.id}/findings`)).items.filter(({ text }: any) => text === words)

    it('where the server is away for a while, and is written down when it is back', async () => {
      const page = await typing('Belt of the hall lamp hums')
      await page.route(API, (route) => route.fulfill({ status: 502, contentType: 'text/html', body: '<html>Bad gateway</html>' }))
      // Long enough afterwards that the page is read anew when it comes back to the front.
      await page.evaluate('const late = Date.now() + 60_000; Date.now = () => late; dispatchEvent(new Event("visibilitychange"))')
      await page
        .getByText('The server cannot be reached just now. What stands here was read before; what you typed is still here.')
        .waitFor()
      await send(page)
      await page.getByText(LOST).waitFor()
      expect(await wrongWith(page, 'server-away')).toEqual([])
      await page.unroute(API)
      await page.click('button:text-is("Try again")')
      await page.getByText('The server cannot be reached just now').waitFor({ state: 'detached' })
      expect(await page.inputValue(SEEN)).toBe('Belt of the hall lamp hums')
      await send(page)
      await page.getByText('“Belt of the hall lamp hums”').first().waitFor()
      expect(await written('Belt of the hall lamp hums')).toHaveLength(1)
      await page.context().close()
    }, 90_000)

    it('where the sign-in ended meanwhile, and is sent after signing in again', async () => {
      const page = await typing('Lamp above it flickers')
      await page.context().clearCookies()
      await send(page)
      await page.getByText('Your sign-in has ended. Sign in again: what you typed is still there').waitFor()
      expect(await wrongWith(page, 'signed-out-meanwhile')).toEqual([])
      const { email, password } = ground().system.signIns.find(({ role }) => role === 'manager')!
      await page.fill('input[type=email]', email)
      await page.fill('input[type=password]', password)
      await page.click('button:text-is("Sign in")')
      await page.locator(SEEN).waitFor()
      expect(await page.inputValue(SEEN)).toBe('Lamp above it flickers')
      await send(page)
      await page.getByText('“Lamp above it flickers”').first().waitFor()
      expect(await written('Lamp above it flickers')).toHaveLength(1)
      await page.context().close()
    }, 90_000)

    it('says that it waits where the server does not answer, with a page and with a change', async () => {
      const page = await typing('Nothing of note')
      await page.clock.install()
      let release: () => void = () => undefined
      const released = new Promise<void>((open) => (release = open))
      await page.route(API, async (route) => {
        await released
        await route.continue()
      })
      await Promise.all([page.waitForRequest(/\/findings$/), send(page)])
      await page.clock.runFor(5000)
      await page.getByText('The server is still working on what you sent …').waitFor()
      expect(await wrongWith(page, 'still-sending')).toEqual([])
      await page.click('nav.places >> text="Stoppages"')
      await page.clock.runFor(9000)
      await page.getByText('Still waiting for the server …').first().waitFor()
      release()
      await page.clock.runFor(2000)
      await page.getByText('The server is still working on what you sent …').waitFor({ state: 'detached' })
      await page.context().close()
    }, 90_000)

    it('is asked about before it is left by a link or the way back, and not where nothing is lost', async () => {
      const page = await ground().open(DESK, 'manager', '/')
      const link = (name: string): Locator => page.locator('nav.places').getByRole('link', { name, exact: true })
      const asked = page.getByRole('dialog', { name: 'Something typed is not saved' })
      await link('Machines').click()
      await page.getByRole('link', { name: machine.labelCode, exact: true }).first().click()
      const form = page.locator('summary:has-text("Write down something that was seen")')
      await page.locator('h1:focus', { hasText: machine.labelCode }).waitFor()
      await form.press('Enter')
      await page.fill(SEEN, 'Hums')
      await page.fill(SEEN, '')
      await link('Stoppages').click()
      // Its heading takes the focus when a page is there; one that is left before that was never away from.
      await page.locator('h1:focus', { hasText: 'Stoppages' }).waitFor()
      await page.goBack()
      await page.locator('h1:focus', { hasText: machine.labelCode }).waitFor()
      await form.press('Enter')
      await page.fill(SEEN, 'Hums in the evening')
      await link('Stoppages').press('Enter')
      await asked.waitFor()
      expect(await asked.textContent()).toContain('What you typed in ‘Write down something that was seen’ is lost when you leave.')
      expect(await wrongWith(page, 'asks-before-leaving')).toEqual([])
      await page.keyboard.press('Escape')
      await page.waitForSelector(`${SEEN}:focus`)
      await page.goBack()
      await asked.getByRole('button', { name: 'Stay here' }).click()
      await asked.waitFor({ state: 'detached' })
      expect([new URL(page.url()).pathname, await page.inputValue(SEEN)]).toEqual([`/machines/${machine.id}`, 'Hums in the evening'])
      await page.goBack()
      await asked.getByRole('button', { name: 'Leave without saving' }).press('Enter')
      await page.waitForURL(/machines$/)
      await page.context().close()
    }, 90_000)

    it('is asked about by the browser where the page is closed, and not once it is written down', async () => {
      const page = await typing('Rests at noon')
      const closing = async (): Promise<boolean> =>
        page.evaluate<boolean>('!dispatchEvent(new Event("beforeunload", { cancelable: true }))')
      expect(await closing()).toBe(true)
      await send(page)
      await page.getByText('“Rests at noon”').first().waitFor()
      expect(await closing()).toBe(false)
      await page.context().close()
    }, 60_000)

    it('tells on the next page what was not taken in on the one before, and that a sign-out did not get through', async () => {
      const page = await typing('Left in haste')
      let cut: () => void = () => undefined
      const isCut = new Promise<void>((open) => (cut = open))
      await page.route(/\/findings$/, async (route) => {
        if (route.request().method() === 'POST') await isCut.then(() => route.abort())
        else await route.continue()
      })
      await Promise.all([page.waitForRequest((request) => request.method() === 'POST'), send(page)])
      await page.click('nav.places >> text="Stoppages"')
      await page.getByRole('heading', { name: 'Stoppages', level: 1 }).waitFor()
      cut()
      await page.getByText('What you sent from a page that you have left since was not taken in').waitFor()
      expect(await wrongWith(page, 'left-unanswered')).toEqual([])
      await page.click('button:text-is("I have read it")')
      await page.getByText('What you sent from a page').waitFor({ state: 'detached' })
      await page.route(/\/api\/v1\/session$/, (route) => route.abort())
      await page.click('button:text-is("Sign out")')
      await page.getByText('You are still signed in: the server cannot be reached.').waitFor()
      expect(await written('Left in haste')).toEqual([])
      await page.context().close()
    }, 90_000)
  })
