/** Two installations for the sweep, one with much in it and one without anything, and who is signed in to which. */
import type { Browser, BrowserContext, Page, Route } from 'playwright-core'
import { join } from 'node:path'
import { type Client, clientOf, startSystem, type Started, until } from '../running.js'
import { deniedRole, type Place, type Role, type State } from './places.js'

export interface Ids {
  machineId: string
  labelCode: string
  labelToken: string
  workOrderId: string
  visitId: string
  warehouseId: string
  importId: string
  stoppageId: string
  personId: string
  servicePlanId: string
  machineTypeId: string
  accountLink: string
  roundSecret: string
  visitSecret: string
}
type System = Started & { stop(): Promise<void> }
const NONE = '00000000-0000-7000-8000-000000000000'
const who = (system: Started, role: string) => system.signIns.find((person) => person.role === role)!

async function as(system: Started, role: Role): Promise<Client> {
  const client = await clientOf(system)
  await client.signIn(who(system, role))
  return client
}

/** One of each thing that the demo does not bring, so that no page of the full installation is empty. */
async function prepare(system: Started): Promise<Ids> {
  const [manager, root, technician] = [await as(system, 'manager'), await as(system, 'administrator'), await as(system, 'technician')]
  await until('the planning pass', 120, async () => (await manager.get('/api/v1/warehouses')).items.every(({ upToDate }: any) => upToDate))
  const me = await technician.get('/api/v1/me')
  const serves = new Set(me.warehouses.map(({ id }: any) => id))
  const drafted = (await manager.all('/api/v1/work-orders?state=drafted')).filter(
    ({ warehouse, skill }) => serves.has(warehouse.id) && skill === 'technician',
  )
  const [{ warehouse }] = drafted
  const there = drafted.filter((order) => order.warehouse.id === warehouse.id).slice(0, 6)
  for (const { id } of there) await manager.post(`/api/v1/work-orders/${id}/issue`, { technicianId: me.person.id })
  const { today } = me.warehouses.find(({ id }: any) => id === warehouse.id)
  const visit = await manager.post('/api/v1/visits', {
    warehouseId: warehouse.id,
    technicianId: me.person.id,
    visitOn: today,
    note: 'Ring at the gate; the hall is locked until six.',
    workOrderIds: there.slice(1).map(({ id }) => id),
  })
  const [machine] = (await manager.get(`/api/v1/machines?limit=5&order=walking&warehouseId=${warehouse.id}`)).items
  await manager.post('/api/v1/labels', { machineIds: [machine.id] })
  const { labelToken } = (await technician.all('/api/v1/on-site-machines')).find(({ id }: any) => id === machine.id)
  const types = (await manager.get('/api/v1/machine-types')).items
  const people = (await manager.get('/api/v1/people?limit=200')).items
  const walker = people.find(({ role }: any) => role === 'instructed')
  const link = await manager.post('/api/v1/rounds/links', { warehouseId: warehouse.id, month: today.slice(0, 7), personId: walker.id })
  const visitLink = await manager.post(`/api/v1/visits/${visit.id}/links`)
  await manager.post('/api/v1/tablets', { name: 'Dock 3', warehouseId: warehouse.id })
  await root.post('/api/v1/access-keys', { name: 'Conveyor, hall north', scopes: ['fleet:read'], days: 90 })
  const { webhook } = await root.post('/api/v1/webhooks', {
    name: 'Shift board',
    url: 'https://board.tape.example/word/of/what/falls/due/and/what/stands/still?hall=north&shift=early',
    kinds: ['due', 'work_order', 'stoppage'],
  })
  await root.ask('POST', `/api/v1/webhooks/${webhook.id}/test`)
  const stoppage = await stoodStill(manager, machine.id)
  return {
    machineId: machine.id,
    labelCode: machine.labelCode,
    labelToken,
    workOrderId: there[0]!.id,
    visitId: visit.id,
    warehouseId: warehouse.id,
    importId: await broughtIn(system, types[0].name, warehouse.name),
    stoppageId: stoppage.id,
    personId: people.find(({ email }: any) => email !== null).id,
    machineTypeId: types[0].id,
    servicePlanId: types.find(({ currentPlanId }: any) => currentPlanId !== null).currentPlanId,
    accountLink: 'x'.repeat(86),
    roundSecret: link.url.split('#round=')[1],
    visitSecret: visitLink.url.split('#visit=')[1],
  }
}

/** One with every moment, a wait and a long note, still open. */
async function stoodStill(manager: Client, machineId: string): Promise<{ id: string }> {
  const ago = (minutes: number): string => new Date(Date.now() - minutes * 60_000).toISOString()
  return manager.post('/api/v1/stoppages', {
    machineId,
    failedAt: ago(600),
    noticedAt: ago(580),
    reportedAt: ago(575),
    workBegunAt: ago(400),
    repairedAt: ago(60),
    checkedAt: ago(40),
    waits: [{ reason: 'part', fromAt: ago(350), toAt: ago(120) }],
    failureMode: 'does_not_stick',
    componentKey: 'moistener_brush_set',
    cause: 'dried_glue',
    noticedHow: 'packer',
    note: 'Told by the shift lead of the north hall, twice; the roll had been changed before, to no avail.',
  })
}

/** A file that was read and waits for its columns to be named. */
async function broughtIn(system: Started, type: string, site: string): Promise<string> {
  const session = await fetch(`${system.urls.api}/session`, {
    method: 'POST',
    headers: { 'content-type': 'application/json', 'x-tapewarden': '1', origin: new URL(system.urls.desk).origin },
    body: JSON.stringify({ email: who(system, 'manager').email, password: who(system, 'manager').password }),
  })
  const cookie = session.headers.getSetCookie()[0]?.split(';')[0] ?? ''
  const answer = await fetch(
    `${system.urls.api}/imports?kind=machines&fileName=${encodeURIComponent('Fleet of the north hall, spring.csv')}`,
    {
      method: 'POST',
      headers: { 'content-type': 'application/octet-stream', 'x-tapewarden': '1', origin: new URL(system.urls.desk).origin, cookie },
      body: `Label;Serial number;Type;Site;Commissioned on\r\nSWEEP-1;S-1;${type};${site};03.02.2025\r\nno label;x;${type};${site};\r\n`,
    },
  )
  const { id } = (await answer.json()) as { id: string }
  return id
}

async function prepareEmpty(system: Started): Promise<Ids> {
  const root = await as(system, 'administrator')
  const people = (await root.get('/api/v1/people?limit=200')).items
  const named = { personId: people.find(({ email }: any) => email !== null).id, accountLink: '-', labelCode: 'NONE-1' }
  return {
    machineId: NONE,
    labelToken: '-',
    workOrderId: NONE,
    visitId: NONE,
    warehouseId: NONE,
    importId: NONE,
    stoppageId: NONE,
    servicePlanId: NONE,
    machineTypeId: NONE,
    roundSecret: '-',
    visitSecret: '-',
    ...named,
  }
}

export interface Ground {
  open(place: Place, state: State): Promise<Page>
  /** Errors that a page threw since it was last asked. */
  thrown(): string[]
  stop(): Promise<void>
}

const PROBLEM = {
  type: 'about:blank',
  title: 'Internal Server Error',
  status: 500,
  code: 'INTERNAL',
  detail: 'The server met a fault; it is written down there.',
}
const answers: Readonly<Record<'wrong' | 'away', (route: Route) => Promise<void>>> = {
  wrong: (route) => route.fulfill({ status: 500, contentType: 'application/problem+json', body: JSON.stringify(PROBLEM) }),
  away: (route) => route.abort('internetdisconnected'),
}
const API = /\/api\/v1\/(?!me$|session$)/

export async function startGround(browser: Browser): Promise<Ground> {
  const [full, empty] = await Promise.all([startSystem({ demo: 'full' }), startSystem({ demo: 'empty' })])
  const ids = { full: await prepare(full), empty: await prepareEmpty(empty) }
  const contexts = new Map<string, Promise<BrowserContext>>()
  const cookies = new Map<string, Promise<Awaited<ReturnType<BrowserContext['storageState']>>>>()
  const faults: string[] = []

  async function signedIn(system: System, role: Role): Promise<Awaited<ReturnType<BrowserContext['storageState']>>> {
    const context = await browser.newContext()
    const { email, password } = who(system, role)
    const answer = await context.request.post(`${system.urls.api}/session`, {
      headers: { 'x-tapewarden': '1', origin: new URL(system.urls.desk).origin },
      data: { email, password },
    })
    if (!answer.ok()) throw new Error(`The ${role} could not sign in: ${answer.status()}`)
    const state = await context.storageState()
    await context.close()
    return state
  }
  async function contextOf(system: System, role: Role | null): Promise<BrowserContext> {
    const name = `${system.urls.desk} ${role}`
    if (role !== null && !cookies.has(name)) cookies.set(name, signedIn(system, role))
    const state = await cookies.get(name)
    const context = await browser.newContext({ serviceWorkers: 'block', ...(state ? { storageState: state } : {}) })
    await context.addInitScript({ path: join(process.cwd(), 'tests/system/support/sweep/looks.js') })
    return context
  }
  return {
    async open(place, state) {
      const system = state === 'none' ? empty : full
      const role = state === 'denied' ? deniedRole(place) : place.role
      // What a phone has kept is its own: a fault is looked at on one that has kept nothing.
      const key = place.role === null ? place.name : `${system.urls.desk} ${role} ${place.on} ${state}`
      if (!contexts.has(key)) contexts.set(key, contextOf(system, role))
      const page = await (await contexts.get(key)!).newPage()
      page.on('pageerror', (error) => faults.push(`thrown: ${error.message}`))
      if (state === 'wrong' || state === 'away') await page.route(API, answers[state])
      await page.goto(new URL(place.address(state === 'none' ? ids.empty : ids.full), system.urls.desk).href)
      return page
    },
    thrown: () => faults.splice(0),
    async stop() {
      await Promise.all([full.stop(), empty.stop()])
    },
  }
}
