/** From an invitation in a mailbox to a person who is signed in, sees their sessions and is let out: in a real browser, by real mail. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { AxeBuilder } from '@axe-core/playwright'
import { existsSync, mkdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { gunzipSync } from 'node:zlib'
import { TOTP } from 'otpauth'
import { type Browser, chromium, type Page } from 'playwright-core'
import { type Client, clientOf, startSystem, until } from './support/running.js'

const CHROMIUM = '/usr/bin/chromium'
const PHONE = { width: 390, height: 844 }
const DESK = { width: 1280, height: 900 }
const SHOTS = join(process.cwd(), '.data', 'shots')
const withBrowser = existsSync(CHROMIUM) ? describe : describe.skip

let system: Awaited<ReturnType<typeof startSystem>>
let browser: Browser
let administrator: Client

async function check(page: Page, name: string): Promise<void> {
  await page.waitForLoadState('networkidle')
  for (const size of [DESK, PHONE]) {
    await page.setViewportSize(size)
    await page.screenshot({ path: join(SHOTS, `${size === DESK ? 'desk' : 'phone'}-${name}.png`), fullPage: true })
    const { violations } = await new AxeBuilder({ page }).analyze()
    expect([name, violations.flatMap(({ id, nodes }) => nodes.map(({ target }) => `${id}: ${target.join(' ')}`))]).toEqual([name, []])
    const wide = await page.evaluate<number>('document.documentElement.scrollWidth - document.documentElement.clientWidth')
    expect([name, wide <= 1]).toEqual([name, true])
  }
}

async function linkMailedTo(address: string, count = 1): Promise<string> {
  return until('the mail', 90, async () => {
    const list = (await (await fetch(new URL('/messages', system.urls.mailbox))).json()) as { id: string; to: unknown }[]
    const ours = list.filter((mail) => JSON.stringify(mail).includes(address))
    if (ours.length < count) return null
    const raws = await Promise.all(ours.map(async ({ id }) => (await fetch(new URL(`/mails/${id}/raw`, system.urls.mailbox))).text()))
    const links = raws.flatMap((raw) => /http:\/\/\S+?\/account-link#[\w-]{86}/.exec(raw.replace(/=\r?\n/g, ''))?.[0] ?? [])
    return links.length >= count ? links.at(-1) : null
  })
}

async function signIn(page: Page, email: string, password: string): Promise<void> {
  await page.goto(system.urls.desk)
  await page.fill('input[type=email]', email)
  await page.fill('input[type=password]', password)
  await page.click('button:has-text("Sign in")')
}

withBrowser('an account', () => {
  beforeAll(async () => {
    mkdirSync(SHOTS, { recursive: true })
    system = await startSystem({ demo: 'empty', extraEnv: { SWEEP_SECONDS: '2' } })
    browser = await chromium.launch({ executablePath: CHROMIUM, args: ['--no-sandbox', '--disable-gpu', '--no-first-run'] })
    administrator = await clientOf(system)
    await administrator.signIn(system.signIns.find(({ role }) => role === 'administrator')!)
  }, 300_000)
  afterAll(async () => {
    await browser?.close()
    await system?.stop()
  })

  it('begins with an invitation by mail, is seen where it is signed in, and ends at once', async () => {
    const root = system.signIns.find(({ role }) => role === 'administrator')!
    const desk = await browser.newPage({ viewport: DESK })
    await signIn(desk, root.email, root.password)
    await desk.waitForSelector('nav.places')
    await administrator.post('/api/v1/people', { name: 'Nele Neu', role: 'manager', email: 'nele@hall.example' })
    await desk.goto(new URL('set-up/people', system.urls.desk).href)
    const nele = desk.getByRole('region', { name: 'Nele Neu' })
    await nele.getByRole('button', { name: 'Invite by mail' }).click()
    await nele.getByText('is on its way to nele@hall.example').waitFor()

    const page = await (await browser.newContext({ viewport: PHONE })).newPage()
    await page.goto(await linkMailedTo('nele@hall.example'))
    await page.waitForSelector('text=You sign in as nele@hall.example')
    expect(page.url()).not.toContain('#')
    await check(page, 'choose-password')
    await page.fill('input[type=password]', 'password1234')
    await page.click('button:has-text("Set the password")')
    await page.waitForSelector('text=one of those that are tried first')
    await page.fill('input[type=password]', 'seven grey herons wade')
    await page.click('button:has-text("Set the password")')
    await page.waitForSelector('text=Your password is set')

    await signIn(page, 'nele@hall.example', 'seven grey herons wade')
    await page.waitForSelector('nav.places')
    const second = await clientOf(system)
    await second.signIn({ email: 'nele@hall.example', password: 'seven grey herons wade' })
    await page.goto(new URL('account', system.urls.desk).href)
    await page.waitForSelector('text=(this one)')
    await check(page, 'account')
    await page.click('button:has-text("End it")')
    await page.waitForSelector('button:has-text("End it")', { state: 'detached' })
    expect((await second.ask('GET', '/api/v1/me')).status).toBe(401)

    await nele.getByRole('button', { name: 'Disable… Nele Neu' }).click()
    await nele.getByText('No work order is in their hands.').waitFor()
    await nele.getByRole('button', { name: 'Disable, and end their sessions' }).click()
    await nele.getByRole('button', { name: 'Let in again' }).waitFor()
    await page.goto(new URL('account', system.urls.desk).href)
    await page.waitForSelector('text=Forgotten the password?')
  }, 240_000)

  it('comes back by mail when the password is forgotten', async () => {
    const manager = system.signIns.find(({ role }) => role === 'manager')!
    const page = await (await browser.newContext({ viewport: DESK })).newPage()
    await page.goto(system.urls.desk)
    await page.click('button:has-text("Forgotten the password?")')
    await check(page, 'forgotten')
    await page.fill('input[type=email]', manager.email)
    await page.click('button:has-text("Send me a link")')
    await page.waitForSelector('text=a mail with a link is on its way')
    const link = await linkMailedTo(manager.email)
    await page.goto(link)
    await page.fill('input[type=password]', 'eleven green kettles sing')
    await page.click('button:has-text("Set the password")')
    await page.waitForSelector('text=Your password is set')
    await page.goto('about:blank')
    await page.goto(link)
    await page.waitForSelector('text=This link has been used')
    await signIn(page, manager.email, 'eleven green kettles sing')
    await page.waitForSelector('nav.places')
  }, 240_000)

  it('gives a program a key that is shown once and can be revoked', async () => {
    const root = system.signIns.find(({ role }) => role === 'administrator')!
    const page = await (await browser.newContext({ viewport: DESK })).newPage()
    await signIn(page, root.email, root.password)
    await page.waitForSelector('nav.places')
    await page.goto(new URL('set-up/access-keys', system.urls.desk).href)
    await page.waitForSelector('text=No program has a key yet.')
    await page.fill('input[name=name]', 'Conveyor, hall north')
    await page.check('input[value="fleet:read"]')
    await page.click('button:has-text("Make the key")')
    const secret = (await page.textContent('code')) ?? ''
    await page.waitForSelector('text=Never used')
    await check(page, 'access-keys')
    const ask = async () => (await fetch(`${system.urls.api}/machines`, { headers: { authorization: `Bearer ${secret}` } })).status
    expect(await ask()).toBe(200)
    await page.click('button:has-text("I have it")')
    await page.reload()
    await page.waitForSelector('text=Last used')
    expect(await page.content()).not.toContain(secret)
    await page.click('button:has-text("Revoke…")')
    expect(await ask()).toBe(200)
    await page.click('button:has-text("Revoke it")')
    await page.waitForSelector('text=revoked')
    expect(await ask()).toBe(401)
  }, 240_000)

  it('asks for a code beside the password, and opens by a passkey, at the desk and on a phone, until an administrator takes both away', async () => {
    const person = { name: 'Pia Prado', role: 'manager', email: 'pia@hall.example', password: 'nine quiet lamps hum' }
    await administrator.post('/api/v1/people', person)
    // Passkeys belong to a name: the pages of 127.0.0.1 are at localhost too.
    const at = (address: string): string => address.replace('127.0.0.1', 'localhost')
    const context = await browser.newContext({ viewport: DESK })
    const page = await context.newPage()
    const devtools = await context.newCDPSession(page)
    await devtools.send('WebAuthn.enable')
    await devtools.send('WebAuthn.addVirtualAuthenticator', {
      options: {
        protocol: 'ctap2',
        transport: 'internal',
        hasResidentKey: true,
        hasUserVerification: true,
        isUserVerified: true,
        automaticPresenceSimulation: true,
      },
    })
    const enter = async (): Promise<void> => {
      await page.goto(at(system.urls.desk))
      await page.fill('input[type=email]', person.email)
      await page.fill('input[type=password]', person.password)
      await page.click('button.main:has-text("Sign in")')
    }
    await enter()
    await page.waitForSelector('nav.places')
    await page.goto(new URL('account', at(system.urls.desk)).href)
    const codes = page.getByRole('region', { name: 'One-time codes' })
    await codes.getByLabel('Present password').fill(person.password)
    await codes.getByRole('button', { name: 'Turn codes on …' }).click()
    const secret = ((await codes.locator('code').textContent()) ?? '').replaceAll(' ', '')
    expect(await codes.locator('img').evaluate((image: any) => image.naturalWidth > 0)).toBe(true)
    await check(page, 'codes-begun')
    await codes.getByLabel('The six digits').fill(new TOTP({ secret }).generate())
    await codes.getByRole('button', { name: 'Turn codes on' }).click()
    await codes.getByText('Your recovery codes.').waitFor()
    const recovery = await codes.locator('li code').allTextContents()
    expect(recovery).toHaveLength(10)
    await check(page, 'recovery-codes')
    await codes.getByRole('button', { name: 'I have them' }).click()
    await codes.getByText('10 recovery codes are left').waitFor()

    const passkeys = page.getByRole('region', { name: 'Passkeys' })
    await passkeys.getByLabel('Name').fill('my phone')
    await passkeys.getByLabel('Present password').fill(person.password)
    await passkeys.getByRole('button', { name: 'Add a passkey' }).click()
    await passkeys.getByText('my phone').first().waitFor()
    await check(page, 'account-factors')

    const leave = async (): Promise<void> => {
      await context.clearCookies()
      await page.goto(at(system.urls.desk))
    }
    await leave()
    await enter()
    await page.getByLabel('Code').fill('000000')
    await check(page, 'second-question')
    await page.keyboard.press('Enter')
    await page.getByText('This is not the code of this moment').waitFor()
    await page.getByLabel('Code').fill(recovery[3] ?? '')
    await page.keyboard.press('Enter')
    await page.waitForSelector('nav.places')
    await leave()
    await check(page, 'sign-in')
    await page.click('button:has-text("Sign in with a passkey")')
    await page.waitForSelector('nav.places')
    await context.clearCookies()
    await page.setViewportSize(PHONE)
    await page.goto(at(system.urls.onSite))
    await page.click('button:has-text("Sign in with a passkey")')
    await page.waitForSelector('h1:has-text("Here, today")')

    const root = system.signIns.find(({ role }) => role === 'administrator')!
    const desk = await (await browser.newContext({ viewport: DESK })).newPage()
    await signIn(desk, root.email, root.password)
    await desk.waitForSelector('nav.places')
    await desk.goto(new URL('set-up/people', system.urls.desk).href)
    const pia = desk.getByRole('region', { name: 'Pia Prado' })
    await pia.getByText('signs in with a code beside the password; has 1 passkey').waitFor()
    await pia.getByRole('button', { name: 'Lost their phone …' }).click()
    await check(desk, 'lost-phone')
    await pia.getByRole('button', { name: 'Take them away' }).click()
    await pia.getByText('signs in with a code').waitFor({ state: 'detached' })
    await leave()
    await page.click('button:has-text("Sign in with a passkey")')
    await page.getByText('This passkey does not open anything here').waitFor()
    await enter()
    await page.waitForSelector('nav.places')
  }, 240_000)

  it('lets an administrator take everything as a file, and take the name of somebody who left away for good', async () => {
    await administrator.post('/api/v1/people', { name: 'Ruth Ranke', role: 'technician', email: 'ruth@hall.example' })
    const root = system.signIns.find(({ role }) => role === 'administrator')!
    const page = await (await browser.newContext({ viewport: DESK })).newPage()
    await signIn(page, root.email, root.password)
    await page.waitForSelector('nav.places')
    await page.goto(new URL('set-up/organisation', system.urls.desk).href)
    await page.waitForSelector('h1:has-text("Everything as a file")')
    await check(page, 'organisation-file')
    const [download] = await Promise.all([page.waitForEvent('download'), page.click('a:has-text("Take the file")')])
    expect(download.suggestedFilename()).toMatch(/^tapewarden-\d{4}-\d\d-\d\d\.organisation\.gz$/)
    const lines = gunzipSync(readFileSync(await download.path()))
      .toString()
      .trimEnd()
      .split('\n')
    expect(JSON.parse(lines[0]!.slice(1))).toMatchObject({ format: 'tapewarden organisation' })
    expect(JSON.parse(lines.at(-1)!.slice(1))).toMatchObject({ end: true, rows: lines.filter((line) => line.startsWith('{')).length })

    await page.goto(new URL('set-up/people', system.urls.desk).href)
    const ruth = page.getByRole('region', { name: 'Ruth Ranke' })
    await ruth.getByRole('button', { name: 'Disable… Ruth Ranke' }).click()
    await ruth.getByRole('button', { name: 'Disable, and end their sessions' }).click()
    await ruth.getByRole('button', { name: 'Take their name away …' }).click()
    await ruth.getByLabel('Type the name to do it: Ruth Ranke').fill('Ruth')
    await ruth.getByRole('button', { name: 'Take the name away for good' }).click()
    await ruth.getByText('The name that was typed is not this person’s.').first().waitFor()
    await check(page, 'anonymise')
    await ruth.getByLabel('Type the name to do it: Ruth Ranke').fill('Ruth Ranke')
    await ruth.getByRole('button', { name: 'Take the name away for good' }).click()
    await page.getByText('gone, and their name taken away').waitFor()
    expect(await page.content()).not.toContain('Ruth')
  }, 240_000)
})
