/** Other programs in a real browser: one that is told what happens and checks who speaks, and a provider that signs people in. */
import { createHmac } from 'node:crypto'
import { existsSync } from 'node:fs'
import { createServer, type IncomingHttpHeaders, type Server } from 'node:http'
import type { AddressInfo } from 'node:net'
import { AxeBuilder } from '@axe-core/playwright'
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { type Browser, chromium, type Page } from 'playwright-core'
import { startProvider, type TestProvider } from '../support/oidc.js'
import { type Client, clientOf, startSystem, startSystemIn, until } from './support/running.js'

const CHROMIUM = '/usr/bin/chromium'
const withBrowser = existsSync(CHROMIUM) ? describe : describe.skip

interface Told {
  headers: IncomingHttpHeaders
  body: string
}

let listener: Server
const told: Told[] = []
let provider: TestProvider
let system: Awaited<ReturnType<typeof startSystem>>
let browser: Browser
let administrator: Client

async function listen(): Promise<string> {
  listener = createServer((request, response) => {
    let body = ''
    request.on('data', (piece: Buffer) => (body += piece.toString()))
    request.on('end', () => {
      told.push({ headers: request.headers, body })
      response.writeHead(204).end()
    })
  })
  await new Promise<void>((done) => listener.listen(0, '127.0.0.1', done))
  return `127.0.0.1:${(listener.address() as AddressInfo).port}`
}

const axeFaults = async (page: Page): Promise<string[]> =>
  (await new AxeBuilder({ page }).analyze()).violations.flatMap(({ id, nodes }) => nodes.map(({ target }) => `${id}: ${target.join(' ')}`))

/** @returns the secret, as it is shown this once */
async function add(page: Page, name: string, address: string): Promise<string> {
  await page.getByLabel('Name').fill(name)
  await page.getByLabel('Address').fill(address)
  await page.click('button:has-text("Add it")')
  await page.getByText(`The secret for ${name}`).waitFor()
  return (await page.locator('[role=status] code').first().textContent()) ?? ''
}

/** A provider needs an address to send people back to, and its organisation an id: a first start has both. */
async function startWithProvider(hook: string): Promise<void> {
  const first = await startSystem({ demo: 'empty' })
  const { desk } = first.urls
  const client = await clientOf(first)
  await client.signIn(first.signIns.find(({ role }) => role === 'administrator')!)
  const organisationId = (await client.get('/api/v1/me')).organisation.id as string
  await first.stop(true)
  provider = await startProvider(new URL('signed-in-elsewhere', desk).href)
  const { issuer, clientId, clientSecret } = provider
  system = await startSystemIn(first.dataDir, {
    demo: 'empty',
    port: Number(new URL(desk).port),
    extraEnv: {
      SWEEP_SECONDS: '2',
      WEBHOOK_ALLOWED_HOSTS: hook,
      OIDC_PROVIDERS: JSON.stringify([{ key: 'hall', name: 'Hall Ltd', organisationId, issuer, clientId, clientSecret }]),
    },
  })
  expect(system.urls.desk).toBe(desk)
}

withBrowser('other programs', () => {
  let hook = ''
  beforeAll(async () => {
    hook = await listen()
    await startWithProvider(hook)
    browser = await chromium.launch({ executablePath: CHROMIUM, args: ['--no-sandbox', '--disable-gpu', '--no-first-run'] })
    administrator = await clientOf(system)
    await administrator.signIn(system.signIns.find(({ role }) => role === 'administrator')!)
  }, 400_000)
  afterAll(async () => {
    await browser?.close()
    await provider?.stop()
    await system?.stop()
    listener?.close()
  })

  it('are told what happens, signed with a secret that is shown once, until they are turned off', async () => {
    const root = system.signIns.find(({ role }) => role === 'administrator')!
    const page = await (await browser.newContext()).newPage()
    await page.goto(system.urls.desk)
    await page.fill('input[type=email]', root.email)
    await page.fill('input[type=password]', root.password)
    await page.click('form button:has-text("Sign in")')
    await page.waitForSelector('nav.places')
    await page.goto(new URL('set-up/webhooks', system.urls.desk).href)
    await page.getByText('No program is told anything yet.').waitFor()
    await add(page, 'Inside', 'https://10.0.0.7/told')
    await page.click('button:has-text("I have it")')
    const inside = page.getByRole('region', { name: 'Inside' })
    await inside.getByRole('button', { name: 'Try it' }).click()
    await inside.getByText(/lies inside a network/).waitFor({ timeout: 60_000 })
    const secret = await add(page, 'The conveyor’s own books', `http://${hook}/told`)
    expect(secret).toMatch(/^whsec_/)
    expect(await axeFaults(page)).toEqual([])
    await page.click('button:has-text("I have it")')
    const books = page.getByRole('region', { name: 'The conveyor’s own books' })
    await books.getByRole('button', { name: 'Try it' }).click()
    await books.getByText(/Trial.*arrived/).waitFor({ timeout: 60_000 })
    const { headers, body } = told[0]!
    expect(JSON.parse(body)).toMatchObject({ type: 'test' })
    // Standard Webhooks 1.0, "Signature scheme".
    const signed = createHmac('sha256', Buffer.from(secret.slice(6), 'base64'))
      .update(`${headers['webhook-id']}.${headers['webhook-timestamp']}.${body}`)
      .digest('base64')
    expect(headers['webhook-signature']).toBe(`v1,${signed}`)
    await page.reload()
    await books.getByRole('button', { name: 'What was told' }).waitFor()
    expect(await page.content()).not.toContain(secret)
    await books.getByRole('button', { name: 'Turn off' }).click()
    await books.getByText(/Off since/).waitFor()
    expect(await books.getByRole('button', { name: 'Try it' }).count()).toBe(0)
    expect(await axeFaults(page)).toEqual([])
    await page.close()
  }, 240_000)

  it('sign people in who were invited under an address that they vouch for, and nobody else', async () => {
    const { id } = await administrator.post('/api/v1/people', { name: 'Olga Alder', role: 'manager', email: 'olga@hall.example' })
    await administrator.post(`/api/v1/people/${id}/invitations`)
    const context = await browser.newContext()
    const page = await context.newPage()
    await provider.signsIn({ sub: 'stranger', email: 'stranger@hall.example', email_verified: true })
    await page.goto(system.urls.desk)
    await page.click('button:has-text("Sign in with Hall Ltd")')
    await page.getByText('Nobody here was invited under the address of that sign-in').waitFor()
    expect(page.url()).not.toContain('code=')
    expect(await axeFaults(page)).toEqual([])
    await page.click('text=Back to sign-in')
    // The provider remembers who was there; another person comes with a browser of their own.
    await context.close()
    await provider.signsIn({ sub: 'olga', email: 'olga@hall.example', email_verified: true })
    const olgas = await (await browser.newContext()).newPage()
    await olgas.goto(system.urls.desk)
    await olgas.click('button:has-text("Sign in with Hall Ltd")')
    await olgas.waitForSelector('nav.places')
    await olgas.goto(new URL('account', system.urls.desk).href)
    await olgas.getByText('olga@hall.example').first().waitFor()
    const history = await until('the sign-in in the history', 30, async () =>
      (await administrator.get('/api/v1/audit?limit=20')).items.find(({ action }: { action: string }) => action === 'link sign-in'),
    )
    expect(history.subjectId).toBe(id)
  }, 240_000)
})
