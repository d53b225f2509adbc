/** The feed as calendar programs see it: 500 occurrences with random histories, read by two parsers that are not ours. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import ICAL from 'ical.js'
import nodeIcal from 'node-ical'
import { type Ask, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { makeOrganisation, type ApiOrganisation } from '../../../../tests/support/api-organisation.js'
import { insertMailOrganisation, type MailOrganisation } from '../../../../tests/support/mail-organisation.js'
import { hashPassword } from '../sessions/passwords.js'
import { PASSWORD } from '../../../../tests/support/api.js'

const HISTORIES = 500
const STEPS = 8

let api: TestApi
let mara: Ask
let theirs: MailOrganisation
let other: ApiOrganisation
let url: string

const sql = <Row extends Record<string, unknown>>(text: string, values: unknown[] = []) =>
  api.database.withOrganisationSql(theirs.organisationId, (scope) => scope.rows<Row>(text, values as never))
const pathOf = (address: string) => new URL(address).pathname
const read = (address = url) => api.anyone('GET', pathOf(address))

beforeAll(async () => {
  api = await startTestApi('2026-03-03T10:00:00Z')
  theirs = await insertMailOrganisation(api.database, 'feed', { machines: HISTORIES })
  await sql(`UPDATE person SET password_hash = $1`, [await hashPassword(PASSWORD)])
  other = await makeOrganisation(api, 'elsewhere')
  mara = await api.signIn(theirs.readers[0]!.email)
  const made = await mara('POST', 'me/calendar-feeds', { warehouseId: theirs.warehouseId })
  expect(made.status).toBe(201)
  url = made.body.url
})
afterAll(() => api.close())

interface SeenEvent {
  sequence: number
  status: string
  on: string
  summary: string
}

function byIcalJs(text: string): Map<string, SeenEvent> {
  const calendar = new ICAL.Component(ICAL.parse(text) as never)
  const found = new Map<string, SeenEvent>()
  for (const part of calendar.getAllSubcomponents('vevent')) {
    const event = new ICAL.Event(part)
    const status = String(part.getFirstPropertyValue('status'))
    found.set(event.uid, { sequence: event.sequence, status, on: event.startDate.toString().slice(0, 10), summary: event.summary })
  }
  return found
}

function byNodeIcal(text: string): Map<string, SeenEvent> {
  const found = new Map<string, SeenEvent>()
  for (const part of Object.values(nodeIcal.sync.parseICS(text))) {
    if (part?.type !== 'VEVENT') continue
    const event = part as unknown as { uid: string; sequence: string; status: string; start: Date; summary: string }
    const on = `${event.start.getFullYear()}-${String(event.start.getMonth() + 1).padStart(2, '0')}-${String(event.start.getDate()).padStart(2, '0')}`
    found.set(event.uid, { sequence: Number(event.sequence), status: event.status, on, summary: event.summary })
  }
  return found
}

const NASTY = [
  'Kette prüfen; Öl, zwei Tropfen',
  'A\\B "quoted", semi;colon',
  '検査 '.repeat(30),
  '🧰'.repeat(40),
  'BEGIN:VEVENT\nUID:evil\nSUMMARY:x',
  'ü'.repeat(37),
]

/** One random thing that happens to some occurrences: moved, done, put off, skipped, renamed. */
async function step(number: number): Promise<void> {
  const some = `id = ANY($1::uuid[]) AND hashtext(id::text || ${number}) % 5`
  const ids = [theirs.occurrenceIds]
  await sql(
    `UPDATE occurrence SET due_on = due_on + (hashtext(id::text) % 9), version = version + 1 WHERE state = 'open' AND ${some} = 1`,
    ids,
  )
  await sql(`UPDATE occurrence SET said_on = '2026-03-03' WHERE state = 'open' AND ${some} = 2`, ids)
  await sql(
    `UPDATE occurrence SET state = 'done', done_on = '2026-03-03', ended_on = '2026-03-03' WHERE state = 'open' AND ${some} = 3`,
    ids,
  )
  const ending = number % 2 === 0 ? 'superseded' : 'skipped'
  await sql(
    `UPDATE occurrence SET state = '${ending}', ended_on = '2026-03-03', end_reason = 'x' WHERE state = 'open' AND ${some} = 4`,
    ids,
  )
  // Somebody writes a lower number by hand: the database does not let it fall.
  await sql(`UPDATE occurrence SET calendar_sequence = 0 WHERE ${some} = 0`, ids)
  await sql(`UPDATE plan_task SET name = $1`, [NASTY[number % NASTY.length]])
}

describe('a calendar feed', () => {
  it(`is read alike by two parsers over ${HISTORIES} random histories: UIDs stay, SEQUENCE never falls, what ended so is cancelled`, async () => {
    const before = new Map<string, SeenEvent>()
    for (let number = 0; number < STEPS; number++) {
      if (number > 0) await step(number)
      const { body, headers } = await read()
      expect(String(headers['content-type'])).toBe('text/calendar; charset=utf-8')
      for (const line of body.split('\r\n')) expect(Buffer.byteLength(line)).toBeLessThanOrEqual(75)
      expect(body).not.toMatch(/[^\r]\n/)
      const seen = byIcalJs(body)
      expect(byNodeIcal(body)).toEqual(seen)
      const rows = await sql<{ id: string; state: string; due_on: string }>(
        `SELECT id, state, due_on::text FROM occurrence WHERE kind <> 'monthly'`,
      )
      expect([...seen.keys()].filter((uid) => uid.startsWith('occurrence-'))).toHaveLength(rows.length)
      for (const { id, state, due_on } of rows) {
        const uid = `occurrence-${id}@tapewarden`
        const now = seen.get(uid)!
        expect(now).toMatchObject({ on: due_on, status: state === 'superseded' || state === 'skipped' ? 'CANCELLED' : 'CONFIRMED' })
        const earlier = before.get(uid)
        if (!earlier) continue
        expect(now.sequence).toBeGreaterThanOrEqual(earlier.sequence)
        if (earlier.on !== now.on || earlier.status !== now.status) expect(now.sequence).toBeGreaterThan(earlier.sequence)
      }
      for (const [uid, event] of seen) before.set(uid, event)
    }
    expect([...before.values()].filter(({ status }) => status === 'CANCELLED').length).toBeGreaterThan(50)
  }, 300_000)

  it('says that it is a view, asks to be read every four hours at most, and answers 304 to who has it', async () => {
    const { body, headers } = await read()
    const calendar = new ICAL.Component(ICAL.parse(body) as never)
    expect(String(calendar.getFirstPropertyValue('description'))).toMatch(/is a view .* reminds nobody/)
    expect(String(calendar.getFirstPropertyValue('refresh-interval'))).toBe('PT4H')
    api.clock.set(new Date('2026-03-03T10:05:00Z'))
    expect((await api.anyone('GET', pathOf(url), undefined, { 'if-none-match': String(headers.etag) })).status).toBe(304)
  })

  it('shows visits: who comes and for how much; a visit that moves keeps its UID and counts up', async () => {
    const [visit] = await sql<{ id: string; visit_on: string }>(
      `INSERT INTO visit (organisation_id, id, warehouse_id, technician_id, visit_on) VALUES ($1, gen_random_uuid(), $2, $3, '2026-03-12') RETURNING id, visit_on::text`,
      [theirs.organisationId, theirs.warehouseId, theirs.technicianId],
    )
    const uid = `visit-${visit!.id}@tapewarden`
    const [name] = await sql<{ name: string }>('SELECT name FROM person WHERE id = $1', [theirs.technicianId])
    const seen = async () => byNodeIcal((await read()).body).get(uid)!
    expect(await seen()).toEqual({
      sequence: 0,
      status: 'CONFIRMED',
      on: '2026-03-12',
      summary: `Visit of ${name!.name}: no work order yet`,
    })
    await sql(`UPDATE visit SET visit_on = '2026-03-13', calendar_sequence = 0 WHERE id = $1`, [visit!.id])
    await sql(`UPDATE visit SET note = 'gate 4', calendar_sequence = 0 WHERE id = $1`, [visit!.id])
    expect(await seen()).toMatchObject({ sequence: 1, on: '2026-03-13' })
    await sql(`UPDATE visit SET technician_id = NULL WHERE id = $1`, [visit!.id])
    expect(await seen()).toMatchObject({ sequence: 2, summary: 'Visit, nobody named yet: no work order yet' })
    expect(byIcalJs((await read()).body).get(uid)).toEqual(await seen())
  })

  it('shows a month’s small outside care as one event', async () => {
    await sql(
      `UPDATE occurrence SET kind = 'monthly' WHERE id IN (SELECT id FROM occurrence WHERE id = ANY($1::uuid[]) AND state = 'open' ORDER BY id LIMIT 20)`,
      [theirs.occurrenceIds],
    )
    const first = byIcalJs((await read()).body).get(`round-${theirs.warehouseId}-2026-03@tapewarden`)!
    expect(first.summary).toBe('Round of March 2026: 20 machines')
    await sql(
      `UPDATE occurrence SET state = 'done', done_on = '2026-03-03', ended_on = '2026-03-03' WHERE kind = 'monthly' AND state = 'open'`,
    )
    const later = byIcalJs((await read()).body).get(`round-${theirs.warehouseId}-2026-03@tapewarden`)!
    expect(later.sequence).toBe(first.sequence + 20)
    expect(later.status).toBe('CONFIRMED')
  })

  it('has a secret of 256 bits of which only the hash is kept, and ends at once', async () => {
    const token = /\/calendar\/([\w-]{43})\.ics$/.exec(url)?.[1] ?? ''
    expect(Buffer.from(token, 'base64url')).toHaveLength(32)
    const [row] = await sql<{ kept: string }>(`SELECT calendar_feed::text AS kept FROM calendar_feed`)
    expect(row?.kept).not.toContain(token)
    expect(row?.kept).not.toContain(Buffer.from(token, 'base64url').toString('hex'))
    const list = await mara('GET', 'me/calendar-feeds')
    expect(JSON.stringify(list.body)).not.toContain(token)
    // A new one ends the old one; ended by hand it is gone as well.
    const again = (await mara('POST', 'me/calendar-feeds', { warehouseId: theirs.warehouseId })).body
    expect((await read(url)).status).toBe(404)
    expect((await read(again.url)).status).toBe(200)
    expect((await other.administrator('DELETE', `me/calendar-feeds/${again.id}`)).status).toBe(404)
    expect((await mara('DELETE', `me/calendar-feeds/${again.id}`)).status).toBe(200)
    const gone = await read(again.url)
    expect(gone.status).toBe(404)
    expect((await read(again.url.replace(/.{43}\.ics/, `${'x'.repeat(43)}.ics`))).body).toBe(gone.body)
  })

  it('ends with its person, and with their warehouse', async () => {
    const tom = await api.signIn(theirs.readers[1]!.email)
    const made = (await tom('POST', 'me/calendar-feeds', { warehouseId: theirs.warehouseId })).body
    expect((await read(made.url)).status).toBe(200)
    await sql(`DELETE FROM person_warehouse WHERE person_id = $1`, [theirs.technicianId])
    expect((await read(made.url)).status).toBe(404)
    const own = (await mara('POST', 'me/calendar-feeds', { warehouseId: theirs.warehouseId })).body
    await sql(`UPDATE person SET disabled_at = now() WHERE id = $1`, [theirs.managerId])
    expect((await read(own.url)).status).toBe(404)
  })
})
