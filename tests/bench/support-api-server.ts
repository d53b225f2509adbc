/**
 * A server that a bench asks, in a process of its own so that its CPU time is its own:
 * 'product', the whole api, or 'bare', one Nest route that sends the same statements in the same transaction and
 * answers with their rows, without session, roles, contract or mapping.
 */
import 'reflect-metadata'
import { Controller, Get, Module, Param } from '@nestjs/common'
import { NestFactory } from '@nestjs/core'
import { FastifyAdapter, type NestFastifyApplication } from '@nestjs/platform-fastify'
import { createPool, Database } from '@tapewarden/persistence'
import { FixedClock } from '@tapewarden/platform'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import pg from 'pg'

const root = join(import.meta.dirname, '../../..')
export type Statement = [text: string, values: unknown[]]
export type Order =
  | { ask: 'record'; on: boolean }
  | { ask: 'statements'; name: string; statements: Statement[] }
  | { ask: 'cpu' }
  | { ask: 'memory' }
  | { ask: 'end' }

const [mode, url, now] = process.argv.slice(2) as ['product' | 'bare', string, string]
let recorded: Statement[] | null = null
const known = new Map<string, Statement[]>()

/** Notes what each request of the product sends to the database. */
function watchQueries(): void {
  const client = pg.Client.prototype as unknown as { query: (...words: unknown[]) => unknown }
  const query = client.query
  client.query = function (this: unknown, ...words: unknown[]): unknown {
    const [first, second] = words
    const asked = typeof first === 'string' ? { text: first, values: second } : (first as { text?: string; values?: unknown } | undefined)
    if (recorded && asked?.text !== undefined) recorded.push([asked.text, Array.isArray(asked.values) ? asked.values : []])
    return query.apply(this, words)
  }
}

async function product(): Promise<NestFastifyApplication> {
  watchQueries()
  const { createApi } = (await import(pathToFileURL(join(root, 'apps/api/dist/create-api.js')).href)) as {
    createApi(options: object): Promise<NestFastifyApplication>
  }
  const database = await Database.open({ url, applicationName: 'bench', most: 6 })
  return createApi({
    database,
    clock: new FixedClock(new Date(now)),
    secretKey: 'a key for benches only, 32 characters and more',
    publicUrl: 'http://tapewarden.example',
    requestsPerMinute: 1_000_000_000,
    webFolder: join(root, 'apps/web/dist'),
  })
}

async function bare(): Promise<NestFastifyApplication> {
  const pool = createPool({ url, applicationName: 'bench', most: 6 })
  class BareController {
    async read(name: string): Promise<unknown> {
      const client = await pool.connect()
      try {
        const answers = []
        for (const [text, values] of known.get(name) ?? []) {
          const answer = (await client.query(text, values)) as pg.QueryResult | pg.QueryResult[]
          answers.push(Array.isArray(answer) ? null : answer.rows)
        }
        return answers
      } finally {
        client.release()
      }
    }
  }
  Controller()(BareController)
  Get('read/:name')(
    BareController.prototype,
    'read',
    Object.getOwnPropertyDescriptor(BareController.prototype, 'read') as PropertyDescriptor,
  )
  Param('name')(BareController.prototype, 'read', 0)
  class BareModule {}
  Module({ controllers: [BareController] })(BareModule)
  const app = await NestFactory.create<NestFastifyApplication>(BareModule, new FastifyAdapter(), { logger: false })
  await app.init()
  return app
}

const app = await (mode === 'product' ? product() : bare())
await app.listen(0, '127.0.0.1')
process.send?.({ url: await app.getUrl() })
process.on('message', (order: Order) => {
  if (order.ask === 'end') process.exit(0)
  if (order.ask === 'cpu') {
    const { user, system } = process.cpuUsage()
    process.send?.({ cpuMicroseconds: user + system })
  } else if (order.ask === 'memory') {
    process.send?.({ residentBytes: process.memoryUsage.rss() })
  } else if (order.ask === 'statements') {
    known.set(order.name, order.statements)
    process.send?.({ done: true })
  } else {
    const before = recorded
    recorded = order.on ? [] : null
    process.send?.({ statements: before ?? [] })
  }
})
process.on('disconnect', () => process.exit(0))
