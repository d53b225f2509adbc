/** Clients that write through the api, each from an address of its own, and the ledger of what they were told. */
import { request } from 'node:http'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import type { Database } from '@tapewarden/persistence'
import { newId } from '@tapewarden/platform'
import type { MailOrganisation } from '../support/mail-organisation.js'
import { pause, root } from './ground.js'

interface Answer {
  status: number
  headers: Record<string, string | string[] | undefined>
  body: string
  elapsedMs: number
}

/** @param from the last number of the client's address: the api counts requests by it */
function ask(port: number, from: number, path: string, body: unknown, cookie = ''): Promise<Answer> {
  const began = performance.now()
  return new Promise((done, fail) => {
    const sent = request(
      {
        host: '127.0.0.1',
        port,
        localAddress: `127.0.0.${from}`,
        method: 'POST',
        path: `/api/v1/${path}`,
        headers: { 'content-type': 'application/json', 'x-tapewarden': '1', cookie },
        timeout: 30_000,
      },
      (answer) => {
        let text = ''
        answer.setEncoding('utf8')
        answer.on('data', (piece: string) => (text += piece))
        answer.on('error', fail)
        answer.on('end', () =>
          done({ status: answer.statusCode ?? 0, headers: answer.headers, body: text, elapsedMs: performance.now() - began }),
        )
      },
    )
    sent.on('timeout', () => sent.destroy(new Error('no answer within 30 s')))
    sent.on('error', fail)
    sent.end(JSON.stringify(body))
  })
}

const PASSWORD = 'north hall 17 dispensers'

/** Lets the organisation's manager sign in. @returns a cookie */
export async function signInManager(database: Database, port: number, { organisationId, managerId, readers }: MailOrganisation) {
  const path = pathToFileURL(join(root, 'apps/api/dist/sessions/passwords.js')).href
  const { hashPassword } = (await import(path)) as { hashPassword(password: string): Promise<string> }
  const hash = await hashPassword(PASSWORD)
  await database.withOrganisationSql(organisationId, (scope) =>
    scope.run('UPDATE person SET password_hash = $2 WHERE organisation_id = $1 AND id = $3', [organisationId, hash, managerId]),
  )
  const answer = await ask(port, 1, 'session', { email: readers[0]?.email, password: PASSWORD })
  if (answer.status !== 200) throw new Error(`The manager could not sign in: ${answer.status} ${answer.body}`)
  return String(answer.headers['set-cookie']).split(';')[0] as string
}

export interface Ledger {
  /** Ids of pieces of evidence that the api said it has. */
  acknowledged: Set<string>
  /** Ids that were sent and of which nothing was said. */
  open: Set<string>
  /** Answers that were neither an acknowledgement nor a proper 503, counted. */
  faults: Map<string, number>
  /** How often the api said 503. */
  refusals: number
  slowestMs: number
}

export interface Writing {
  ledger: Ledger
  /** Lets each client end what it has in hand, trying again until it is acknowledged. */
  stop(): Promise<Ledger>
}

function faultOf(answer: Answer): string | null {
  if (answer.status === 200) return null
  const problem = String(answer.headers['content-type']).startsWith('application/problem+json')
  if (answer.status === 503 && problem && Number(answer.headers['retry-after']) > 0) return null
  return `${answer.status} ${problem ? '' : 'without a problem document '}${answer.body.slice(0, 160)}`
}

/**
 * Each client sends one piece of evidence after the other under an id of its own making, and the same one again until
 * it is acknowledged. It waits less than Retry-After asks, to press harder.
 */
export async function startWriters(
  database: Database,
  port: number,
  organisation: MailOrganisation,
  { clients, paceMs }: { clients: number; paceMs: number },
): Promise<Writing> {
  const cookie = await signInManager(database, port, organisation)
  const [station] = await database.withOrganisationSql(organisation.organisationId, (scope) =>
    scope.rows<{ id: string }>('SELECT id FROM station WHERE organisation_id = $1 AND warehouse_id = $2 LIMIT 1', [
      organisation.organisationId,
      organisation.warehouseId,
    ]),
  )
  const ledger: Ledger = { acknowledged: new Set(), open: new Set(), faults: new Map(), refusals: 0, slowestMs: 0 }
  const note = (fault: string): undefined => void ledger.faults.set(fault, (ledger.faults.get(fault) ?? 0) + 1)
  let stopping = false
  const send = async (from: number, id: string): Promise<boolean> => {
    const body = { kind: 'cartons_day', id, stationId: station?.id, day: '2026-03-02', cartons: 100 + from }
    const answer = await ask(port, from, 'evidence', body, cookie).catch((error: Error) => note(`no answer: ${error.message}`))
    if (!answer) return false
    ledger.slowestMs = Math.max(ledger.slowestMs, answer.elapsedMs)
    if (answer.status === 503) ledger.refusals += 1
    const fault = faultOf(answer)
    if (fault !== null) note(fault)
    return answer.status === 200
  }
  const write = async (from: number): Promise<void> => {
    while (!stopping) {
      const id = newId()
      ledger.open.add(id)
      let told = await send(from, id)
      for (let tries = 1; !told && tries < 300; tries++) {
        await pause(200)
        told = await send(from, id)
      }
      if (!told) return note('a write was never acknowledged')
      ledger.open.delete(id)
      ledger.acknowledged.add(id)
      await pause(paceMs * (0.5 + Math.random()))
    }
  }
  const all = Promise.all(Array.from({ length: clients }, (_, index) => write(10 + index)))
  return {
    ledger,
    async stop() {
      stopping = true
      await all
      return ledger
    },
  }
}

/** What was acknowledged and is not there once, with its audit entry; and what is there by halves. */
export async function checkLedger(database: Database, { organisationId }: MailOrganisation, ledger: Ledger): Promise<string[]> {
  const rows = await database.withOrganisationSql(organisationId, (scope) =>
    scope.rows<{ id: string; kept: number; noted: number }>(
      `SELECT COALESCE(e.id, a.subject_id) AS id, count(DISTINCT e.id)::int AS kept, count(DISTINCT a.id)::int AS noted
       FROM (SELECT id FROM evidence WHERE organisation_id = $1 AND kind = 'cartons_day') e
       FULL JOIN (SELECT id, subject_id FROM audit_entry WHERE organisation_id = $1 AND action = 'give evidence') a ON a.subject_id = e.id
       GROUP BY 1`,
      [organisationId],
    ),
  )
  const found = new Map(rows.map((row) => [row.id, row]))
  const faults = [...ledger.faults].map(([fault, times]) => `${times} × ${fault}`)
  const missing = [...ledger.acknowledged].filter((id) => found.get(id)?.kept !== 1)
  const halves = rows.filter(({ id, kept, noted }) => kept !== noted && (ledger.acknowledged.has(id) || ledger.open.has(id)))
  if (missing.length > 0) faults.push(`${missing.length} acknowledged writes are not there: ${missing.slice(0, 3).join(', ')}`)
  if (halves.length > 0) faults.push(`${halves.length} writes are there by halves or twice: ${JSON.stringify(halves.slice(0, 3))}`)
  return faults
}
