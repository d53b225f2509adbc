import { createHash } from 'node:crypto'
import type { NestFastifyApplication } from '@nestjs/platform-fastify'
import { writeFeed } from '@tapewarden/messaging'
import { type Database, findCalendarFeed } from '@tapewarden/persistence'
import type { Clock } from '@tapewarden/platform'
import type { FastifyInstance } from 'fastify'
import { tokenHashOf } from '../sessions/identities.js'
import { localDateOf } from '../use/local-day.js'
import { readFeed, readFeedOwner } from './feed-rows.js'

export interface CalendarParts {
  database: Database
  clock: Clock
  publicUrl: string
}

/** The feed's text; null: there is no such address, or no longer. */
async function feedText({ database, clock, publicUrl }: CalendarParts, token: string): Promise<string | null> {
  const found = await findCalendarFeed(database.pool, tokenHashOf(token))
  if (!found) return null
  const now = await clock.now()
  return database.withOrganisationSql(found.organisationId, async (scope) => {
    const owner = await readFeedOwner(scope, found.feedId)
    if (!owner) return null
    await scope.run(
      `UPDATE calendar_feed SET last_read_at = $3 WHERE organisation_id = $1 AND id = $2 AND (last_read_at IS NULL OR last_read_at < $3::timestamptz - interval '1 minute')`,
      [found.organisationId, found.feedId, now],
    )
    return writeFeed(await readFeed(scope, owner, localDateOf(now, owner.zone), `${publicUrl.replace(/\/$/, '')}/`))
  })
}

/**
 * A person's calendar of a warehouse. The secret address is all there is to it: no cookie, no sign-in, nothing but reading.
 * An unknown, an ended and a mistyped address get the same answer.
 */
export async function serveCalendar(app: NestFastifyApplication, parts: CalendarParts): Promise<void> {
  await app.register(async (server: FastifyInstance) => {
    server.get('/calendar/:file', async (request, reply) => {
      const token = /^([\w-]{22,100})\.ics$/.exec((request.params as { file: string }).file)?.[1]
      const text = token === undefined ? null : await feedText(parts, token)
      void reply.header('cache-control', 'private, no-cache')
      if (text === null) return reply.code(404).type('text/plain; charset=utf-8').send('There is no such calendar, or no longer.\n')
      const tag = `"${createHash('sha256').update(text).digest('base64url').slice(0, 27)}"`
      void reply.header('etag', tag)
      if (request.headers['if-none-match'] === tag) return reply.code(304).send()
      return reply.type('text/calendar; charset=utf-8').header('content-disposition', 'inline; filename="care.ics"').send(text)
    })
  })
}
