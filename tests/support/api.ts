/** The api on a database of its own, with people of each role who can sign in, for tests that ask it over HTTP. */
import 'reflect-metadata'
import { jest } from '@jest/globals'
import type { NestFastifyApplication } from '@nestjs/platform-fastify'
import { Database, insertAllRows, type NewRows } from '@tapewarden/persistence'
import { FixedClock, newId } from '@tapewarden/platform'
import { REQUEST_HEADER, type Role } from '@tapewarden/shared'
import { createApi, type ApiOptions } from '../../apps/api/src/create-api.js'
import { hashPassword } from '../../apps/api/src/sessions/passwords.js'
import { createTestDatabase, type TestDatabase } from './database.js'

export const PASSWORD = 'north hall 17 dispensers'
let passwordHash: string | undefined
// A whole api on a database of its own takes its time to start on a loaded machine.
jest.setTimeout(120_000)

/** The body of an answer, looked into without ceremony. */
// oxlint-disable-next-line typescript/no-explicit-any
export type Json = any

export interface Reply {
  status: number
  body: Json
  headers: Record<string, unknown>
}
/** Asks as one signed-in person. */
export type Ask = (
  method: 'GET' | 'POST' | 'PUT' | 'PATCH' | 'DELETE',
  path: string,
  body?: unknown,
  headers?: Record<string, string>,
) => Promise<Reply>

export interface TestApi {
  app: NestFastifyApplication
  database: Database
  test: TestDatabase
  clock: FixedClock
  planned: string[]
  /** No session. */
  anyone: Ask
  /** With a cookie that enter gave. */
  ask(cookie: string | undefined): Ask
  enter(email: string): Promise<string>
  signIn(email: string): Promise<Ask>
  /** Another process on the same database. */
  beside(): Promise<Process>
  close(): Promise<void>
}

/** A process of the api, asked without a network. */
interface Process {
  app: NestFastifyApplication
  database: Database
  ask(cookie: string | undefined): Ask
  /** @returns the cookie */
  enter(email: string): Promise<string>
  close(): Promise<void>
}

async function startProcess(url: string, options: Pick<ApiOptions, 'clock' | 'planning'> & Partial<ApiOptions>): Promise<Process> {
  const database = await Database.open({ url, applicationName: 'api test', most: 6 })
  const app = await createApi({
    database,
    secretKey: 'a key for tests only, 32 characters and more',
    publicUrl: 'http://tapewarden.example',
    requestsPerMinute: 100_000,
    ...options,
  })
  const ask =
    (cookie: string | undefined): Ask =>
    async (method, path, body, headers = {}) => {
      const reply = await app.inject({
        method,
        url: path.startsWith('/') ? path : `/api/v1/${path}`,
        headers: {
          [REQUEST_HEADER]: '1',
          ...(cookie ? { cookie } : {}),
          ...(typeof body === 'string' ? { 'content-type': 'application/json' } : {}),
          ...headers,
        },
        ...(body === undefined ? {} : { payload: body as object }),
      })
      const json = String(reply.headers['content-type']).includes('json')
      return { status: reply.statusCode, body: json ? JSON.parse(reply.body) : reply.body, headers: reply.headers }
    }
  return {
    app,
    database,
    ask,
    async enter(email) {
      const reply = await ask(undefined)('POST', 'session', { email, password: PASSWORD })
      if (reply.status !== 200) throw new Error(`sign-in of ${email}: ${JSON.stringify(reply.body)}`)
      return String(reply.headers['set-cookie']).split(';')[0] ?? ''
    },
    async close() {
      await app.close()
      await database.close()
    },
  }
}

export async function startTestApi(now = '2026-05-04T08:00:00Z', options: Partial<ApiOptions> = {}): Promise<TestApi> {
  const test = await createTestDatabase()
  const clock = new FixedClock(new Date(now))
  const planned: string[] = []
  const planning = {
    request: async (_organisation: string, warehouse: string) => void planned.push(warehouse),
    close: async () => undefined,
  }
  const start = (): Promise<Process> => startProcess(test.appUrl, { clock, planning, ...options })
  const { app, database, ask, enter, close } = await start()
  return {
    app,
    database,
    test,
    clock,
    planned,
    anyone: ask(undefined),
    ask,
    enter,
    signIn: async (email) => ask(await enter(email)),
    beside: start,
    async close() {
      await close()
      await test.drop()
    },
  }
}

/** Adds rows of one organisation; people get the test password. */
export async function seed(api: TestApi, organisationId: string, rows: NewRows): Promise<void> {
  passwordHash ??= await hashPassword(PASSWORD)
  const withPassword = { ...rows, person: (rows.person ?? []).map((person) => ({ password_hash: passwordHash, ...person })) }
  await api.database.withOrganisationSql(organisationId, (scope) => insertAllRows(scope, withPassword))
}

export function personRow(role: Role, email: string): { id: string; name: string; email: string; role: Role; created_at: string } {
  return { id: newId(), name: email.split('@')[0] ?? email, email, role, created_at: '2026-01-01T00:00:00Z' }
}
