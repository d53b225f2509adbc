/**
 * A phone whose storage is cleared, which is full, whose service worker changes in the middle of a sheet, or whose session ends: the pages'
 * own outbox and words against the real api. Nothing called saved is lost, and what was, or may have been, only on the phone is told.
 * PHONE_FAULTS=50 tries each so often; a few are tried each time.
 */
import 'fake-indexeddb/auto'
import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { Client } from 'pg'
import { join } from 'node:path'
import { type Ask, startTestApi, type TestApi } from '../support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../support/api-organisation.js'
import { Browser, WebServer } from '../support/fake-worker.js'
import { randomFrom } from '../support/random.js'

const TIMES = Number(process.env.PHONE_FAULTS ?? 2)
const ENTRIES = 12
const times = Array.from({ length: TIMES }, (_, number) => number)

/** The pages' own code; it is typed for browsers, so only what is used here is named. */
interface Entry {
  id: string
  keptAt: string
  personId?: string
  turn?: string
}
interface Made extends Entry {
  kind: string
  path: string
  body: Record<string, unknown> & { id: string }
}
interface SaidBack {
  cleared: { storageId: string; lastSaidAt: string } | null
  missing: { id: string; ofThisPhone: boolean }[]
}
interface Store {
  close(): void
}
interface Outbox {
  openStore(name: string): Promise<Store>
  keepEntry(store: Store, entry: object, picture?: string): Promise<void>
  entriesToSend(store: Store): Promise<Entry[]>
  pictureOf(store: Store, id: string): Promise<string | null>
  readKept(store: Store): Promise<{ entries: Entry[]; refused: Entry[] }>
  sendKept(store: Store, send: (entry: Entry) => Promise<{ outcome: string }>, personId: string | null): Promise<number>
  bindToTurn(store: Store, personId: string, turn: string | null): Promise<void>
}
/** What fake-indexeddb puts beside the globals of Node. */
const browserStorage = globalThis as unknown as {
  indexedDB: { deleteDatabase(name: string): { onsuccess: unknown } }
  IDBObjectStore: { prototype: { put(...given: unknown[]): unknown } }
}
let outbox: Outbox
let server: { sendEntry(store: Store, entry: Entry): Promise<{ outcome: string }> }
let words: { sayKept(store: Store, when: string, personId: string, nowMs: number): Promise<SaidBack | null> }
let overlay: { stoppageTold(machineId: string, failureMode: string, now: string): { id: string }; closingPath(id: string): string }
let api: TestApi
let us: ApiOrganisation

const began = Date.parse('2026-05-04T08:00:00Z')
let nowMs = began
function later(seconds: number): string {
  nowMs += seconds * 1000
  api.clock.set(new Date(nowMs))
  return new Date(nowMs).toISOString()
}

beforeAll(async () => {
  const hand = (file: string): string => join(process.cwd(), 'apps/web/src/hand', file)
  outbox = (await import(hand('outbox.ts'))) as Outbox
  server = (await import(hand('server.ts'))) as typeof server
  words = (await import(hand('words.ts'))) as typeof words
  overlay = (await import(hand('stoppage-overlay.ts'))) as typeof overlay
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
})
afterAll(() => api.close())

/** A report on a stoppage's machine: needs no order, and each is a row of its own. */
function anEntry(personId: string): Made {
  const id = newId()
  const body = { id: newId(), machineId: us.machineId, kind: 'strips_day', day: '2026-05-01', strips: 10 }
  return { id, kind: 'post', path: '/api/v1/evidence', personId, body, keptAt: later(1) }
}

const real = globalThis.fetch
/** Stands where the browser's fetch stands. @param reaches is there a network, and does the answer come back? */
function browse(ask: Ask, reaches: () => 'both ways' | 'not at all' | 'there only', arrived: Set<string>): void {
  globalThis.fetch = (async (path: string, init: RequestInit) => {
    const way = reaches()
    if (way === 'not at all') throw new TypeError('network')
    const headers = Object.fromEntries(
      Object.entries(init.headers ?? {}).filter(([name]) => name === 'idempotency-key' || name.startsWith('x-tablet')),
    )
    const reply = await ask(
      init.method as 'POST',
      path,
      init.body ? JSON.parse(String(init.body)) : undefined,
      headers as Record<string, string>,
    )
    const key = (headers as Record<string, string>)['idempotency-key']
    if (key && reply.status < 300) arrived.add(key)
    if (way === 'there only') throw new TypeError('network')
    return new Response(JSON.stringify(reply.body), { status: reply.status })
  }) as typeof fetch
}

/** What the server holds of these entries, by what they brought. */
async function onServer(entries: readonly Made[]): Promise<string[]> {
  const rows = await api.database.withOrganisationSql(us.organisationId, (scope) =>
    scope.rows<{ id: string }>(`SELECT id FROM evidence WHERE organisation_id = $1 AND id = ANY($2::uuid[])`, [
      us.organisationId,
      entries.map(({ body }) => body.id),
    ]),
  )
  const found = rows.map(({ id }) => id)
  return entries.filter(({ body }) => found.includes(body.id)).map(({ id }) => id)
}

const beat = async (store: Store, personId: string): Promise<SaidBack | null> => {
  const before = await words.sayKept(store, 'before sending', personId, nowMs)
  await outbox.sendKept(store, (entry) => server.sendEntry(store, entry), personId)
  return (await words.sayKept(store, 'after sending', personId, nowMs)) ?? before
}

describe('storage cleared', () => {
  it.each(times)('names what it knows to be missing and says from when on it cannot know (%i)', async (number) => {
    const random = randomFrom(number)
    const ask = await api.signIn('technician@north.example')
    const personId = us.people.technician
    const arrived = new Set<string>()
    const made: Made[] = []
    let reach = 1
    browse(ask, () => (random() < reach ? 'both ways' : random() < 0.3 ? 'there only' : 'not at all'), arrived)
    const name = `cleared ${number}`
    const store = await outbox.openStore(name)
    // Whoever signs in has the network, and the phone says its first word.
    await beat(store, personId)
    const saved = new Set<string>()
    for (let index = 0; index < ENTRIES; index += 1) {
      reach = random() < 0.3 ? 0.8 : 0.15
      const entry = anEntry(personId)
      await outbox.keepEntry(store, entry)
      made.push(entry)
      if (random() < 0.6) await beat(store, personId)
      const left = new Set((await outbox.entriesToSend(store)).map(({ id }) => id))
      for (const { id } of made) if (!left.has(id)) saved.add(id)
      later(random() * 1000)
    }
    store.close()
    await new Promise((done) => (browserStorage.indexedDB.deleteDatabase(name).onsuccess = done))

    reach = 1
    later(5)
    const fresh = await outbox.openStore(name)
    const said = await beat(fresh, personId)
    fresh.close()
    expect(said?.cleared).not.toBeNull()
    const there = await onServer(made)
    expect([...saved].filter((id) => !there.includes(id))).toEqual([])
    const missing = said?.missing.filter(({ ofThisPhone }) => ofThisPhone).map(({ id }) => id) ?? []
    expect(missing.filter((id) => there.includes(id))).toEqual([])
    // Neither there nor named: only what was entered after the last word, of which the answer says that it cannot be known.
    const untold = made.filter(({ id }) => !there.includes(id) && !missing.includes(id))
    expect(untold.filter(({ keptAt }) => keptAt <= (said?.cleared?.lastSaidAt ?? ''))).toEqual([])
    await settleAll(ask, said)
  })
})

async function settleAll(ask: Ask, said: SaidBack | null): Promise<void> {
  const storageId = said?.cleared?.storageId ?? ''
  await ask('POST', `phone-words/${storageId}/settling`, { entryIds: said?.missing.map(({ id }) => id) ?? [] })
}

describe('quota full', () => {
  it.each(times)('keeps an entry whole or says that it did not, and sends what was kept (%i)', async (number) => {
    const random = randomFrom(1000 + number)
    const personId = us.people.technician
    const arrived = new Set<string>()
    browse(us.technician, () => (random() < 0.5 ? 'both ways' : 'not at all'), arrived)
    const store = await outbox.openStore(`full ${number}`)
    const shelf = browserStorage.IDBObjectStore.prototype
    const put = shelf.put
    let full = 0
    shelf.put = function (...given: unknown[]) {
      if (random() < full) throw new DOMException('full', 'QuotaExceededError')
      return put.apply(this, given)
    }
    const kept: Made[] = []
    const refusedAloud: string[] = []
    try {
      for (let index = 0; index < ENTRIES; index += 1) {
        full = random() < 0.6 ? 0.5 : 0
        const entry = anEntry(personId)
        // A photo among them: entry and picture, or neither.
        const picture = random() < 0.3 ? 'a picture' : undefined
        await outbox.keepEntry(store, picture ? { ...entry, body: { ...entry.body, content: undefined } } : entry, picture).then(
          () => kept.push(entry),
          (error: Error) => {
            expect(error.name).toBe('QuotaExceededError')
            refusedAloud.push(entry.id)
          },
        )
        if (random() < 0.4) await beat(store, personId)
      }
      for (const id of refusedAloud) expect(await outbox.pictureOf(store, id)).toBeNull()
    } finally {
      shelf.put = put
    }
    browse(us.technician, () => 'both ways', arrived)
    await beat(store, personId)
    const { entries, refused } = await outbox.readKept(store)
    expect(entries).toEqual([])
    const there = new Set([...(await onServer(kept)), ...refused.map(({ id }) => id)])
    expect(kept.filter(({ id }) => !there.has(id))).toEqual([])
    expect(await onServer(kept.filter(({ id }) => refusedAloud.includes(id)))).toEqual([])
    store.close()
  })
})

describe('service worker updated in the middle of a sheet', () => {
  it.each(times)('serves the open page the rest of itself, and touches nothing that is kept (%i)', async (number) => {
    const random = randomFrom(2000 + number)
    const web = new WebServer()
    const browser = new Browser(web)
    await browser.update()
    const opened = await browser.get('/hand.html')
    expect(await opened.text()).toContain('hand-1.js')
    const store = await outbox.openStore(`updated ${number}`)
    let open = 1
    let kept = 0
    for (let index = 0; index < ENTRIES; index += 1) {
      await outbox.keepEntry(store, anEntry(us.people.technician))
      kept += 1
      web.online = random() < 0.6
      // A new version each time the former one has been opened; more than one behind, the page says so and opens anew.
      if (web.version === open && random() < 0.4) {
        web.version += 1
        await browser.update(random() < 0.5 ? `tapewarden-hand-${100 + index}` : undefined)
      }
      const [, sheet] = WebServer.filesOf(open)
      expect([index, (await browser.get(sheet ?? '')).status]).toEqual([index, 200])
      expect((await outbox.entriesToSend(store)).length).toBe(kept)
      if (random() < 0.3) {
        const page = await (await browser.get('/hand.html')).text()
        open = Number(/hand-(\d+)\.js/.exec(page)?.[1])
        for (const file of WebServer.filesOf(open)) expect([index, file, (await browser.get(file)).status]).toEqual([index, file, 200])
      }
    }
    web.online = false
    expect((await browser.get('/hand.html')).status).toBe(200)
    store.close()
  })
})

describe('session ended in the middle', () => {
  // Played many times over, all of them from one address: its tries are no matter here.
  beforeEach(async () => {
    const owner = new Client({ connectionString: api.test.ownerUrl })
    await owner.connect()
    await owner.query('DELETE FROM sign_in.tried')
    await owner.end()
  })

  it.each(times)('keeps everything for its person, sends it once after they signed in again (%i)', async (number) => {
    const random = randomFrom(3000 + number)
    const personId = us.people.technician
    const arrived = new Set<string>()
    let ask = await api.signIn('technician@north.example')
    browse(
      (...given) => ask(...given),
      () => (random() < 0.7 ? 'both ways' : random() < 0.5 ? 'there only' : 'not at all'),
      arrived,
    )
    const store = await outbox.openStore(`ended ${number}`)
    const made: Made[] = []
    const saved = new Set<string>()
    let ended = false
    for (let index = 0; index < ENTRIES; index += 1) {
      const entry = anEntry(personId)
      await outbox.keepEntry(store, entry)
      made.push(entry)
      if (!ended && index > 2 && random() < 0.3) {
        await ask('DELETE', 'session')
        ended = true
      }
      await beat(store, personId)
      const left = (await outbox.entriesToSend(store)).map(({ id }) => id)
      if (ended) expect(left).toContain(entry.id)
      for (const { id } of made) if (!left.includes(id)) saved.add(id)
    }
    const between = await onServer(made)
    expect([...saved].filter((id) => !between.includes(id))).toEqual([])
    // Somebody else at the same phone sends nothing of it.
    ask = us.manager
    browse(
      (...given) => ask(...given),
      () => 'both ways',
      arrived,
    )
    const waiting = (await outbox.entriesToSend(store)).length
    await beat(store, us.people.manager)
    expect((await outbox.entriesToSend(store)).length).toBe(waiting)
    ask = await api.signIn('technician@north.example')
    await beat(store, personId)
    expect(await outbox.entriesToSend(store)).toEqual([])
    expect((await onServer(made)).length).toBe(made.length)
    store.close()
  })

  it.each(times)('on a shared tablet: waits for its person’s code and holds up nobody else (%i)', async (number) => {
    const random = randomFrom(4000 + number)
    const arrived = new Set<string>()
    const { body: made } = await us.manager('POST', 'tablets', { name: `Tablet ${number}`, warehouseId: us.north })
    const codes = { technician: '2580', manager: '70414' } as const
    const turnOf = async (who: keyof typeof codes): Promise<string> => {
      await us[who]('PUT', 'me/short-code', { code: codes[who] })
      const reply = await api.anyone(
        'POST',
        'this-tablet/turns',
        { personId: us.people[who], code: codes[who] },
        { 'x-tablet': made.secret },
      )
      return reply.body.secret
    }
    const turns = { technician: await turnOf('technician'), manager: await turnOf('manager') }
    browse(api.anyone, () => (random() < 0.6 ? 'both ways' : 'not at all'), arrived)
    const store = await outbox.openStore(`tablet ${number}`)
    const entries: Made[] = []
    for (let index = 0; index < ENTRIES; index += 1) {
      const who = random() < 0.5 ? 'technician' : 'manager'
      const entry = { ...anEntry(us.people[who]), turn: turns[who] }
      await outbox.keepEntry(store, entry)
      entries.push(entry)
      if (random() < 0.3) await outbox.sendKept(store, (one) => server.sendEntry(store, one), null)
    }
    // A new code of the technician ends their turn.
    await us.technician('PUT', 'me/short-code', { code: '8024' })
    const late = { ...anEntry(us.people.technician), turn: turns.technician }
    await outbox.keepEntry(store, late)
    entries.push(late)
    browse(api.anyone, () => 'both ways', arrived)
    await outbox.sendKept(store, (one) => server.sendEntry(store, one), null)
    const left = await outbox.entriesToSend(store)
    expect(left.map(({ personId }) => personId)).toEqual(left.map(() => us.people.technician))
    expect(left.map(({ id }) => id)).toContain(late.id)
    await us.technician('PUT', 'me/short-code', { code: codes.technician })
    await outbox.bindToTurn(store, us.people.technician, await turnOf('technician'))
    await outbox.sendKept(store, (one) => server.sendEntry(store, one), null)
    expect(await outbox.entriesToSend(store)).toEqual([])
    expect((await onServer(entries)).length).toBe(entries.length)
    const owners = await api.database.withOrganisationSql(us.organisationId, (scope) =>
      scope.rows<{ actor: string }>(`SELECT DISTINCT actor FROM audit_entry WHERE organisation_id = $1 AND actor LIKE $2 ORDER BY actor`, [
        us.organisationId,
        `%tablet Tablet ${number})`,
      ]),
    )
    expect(owners.map(({ actor }) => actor.split(' ')[0])).toEqual(
      [...new Set(entries.map(({ personId }) => (personId === us.people.manager ? 'manager' : 'technician')))].sort(),
    )
    store.close()
  })
})

describe('a machine that stands still', () => {
  const personId = (): string => us.people.technician
  const post = (path: string, body: object): object => ({ id: newId(), kind: 'post', path, personId: personId(), body, keptAt: later(1) })
  /** Without a network. @returns when it worked again */
  async function tellAndClose(store: Store): Promise<string> {
    const told = overlay.stoppageTold(us.machineId, 'dead', later(60))
    await outbox.keepEntry(store, post('/api/v1/stoppages', told))
    const backInUseAt = later(600)
    await outbox.keepEntry(store, post(overlay.closingPath(told.id), { backInUseAt }))
    later(60)
    return backInUseAt
  }

  it('and works again before the network came back, is told of as it was', async () => {
    const store = await outbox.openStore('stood still')
    const backInUseAt = await tellAndClose(store)
    browse(us.technician, () => 'both ways', new Set())
    await outbox.sendKept(store, (entry) => server.sendEntry(store, entry), personId())
    const { entries, refused } = await outbox.readKept(store)
    store.close()
    expect([entries, refused]).toEqual([[], []])
    const { items } = (await us.manager('GET', `stoppages?machineId=${us.machineId}`)).body
    expect(items).toEqual([expect.objectContaining({ failureMode: 'dead', open: false, backInUseAt })])
  })

  it('already, is said to work again by a phone that told of it without knowing, also where the answer to that was lost', async () => {
    const { body: first } = await us.manager('POST', 'stoppages', { machineId: us.machineId, failureMode: 'jammed', failedAt: later(1) })
    const store = await outbox.openStore('stands still')
    const backInUseAt = await tellAndClose(store)
    for (const way of ['there only', 'both ways'] as const) {
      browse(us.technician, () => way, new Set())
      await outbox.sendKept(store, (entry) => server.sendEntry(store, entry), personId())
    }
    const { entries, refused } = await outbox.readKept(store)
    store.close()
    expect([entries, refused]).toEqual([[], []])
    expect((await us.manager('GET', `stoppages/${first.id}`)).body).toMatchObject({ open: false, backInUseAt })
    expect((await us.manager('GET', `stoppages?machineId=${us.machineId}&open=true`)).body.items).toEqual([])
  })
})

afterAll(() => {
  globalThis.fetch = real
})
