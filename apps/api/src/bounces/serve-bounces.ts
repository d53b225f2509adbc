import { createHash, timingSafeEqual } from 'node:crypto'
import type { NestFastifyApplication } from '@nestjs/platform-fastify'
import { parseBounce } from '@tapewarden/messaging'
import { type Database, takeBounce } from '@tapewarden/persistence'
import { AppError, type Clock } from '@tapewarden/platform'
import type { FastifyInstance } from 'fastify'
import { sendProblem } from '../http/problem.filter.js'

export interface BounceParts {
  database: Database
  clock: Clock
  /** Of the mail server that hands notifications in; left out: nobody may. */
  bounceSecret?: string | undefined
}

const MOST_BYTES = 1024 * 1024
const digest = (text: string): Buffer => createHash('sha256').update(text).digest()

function isAllowed(secret: string | undefined, header: string | undefined): boolean {
  const given = /^Bearer (\S+)$/.exec(header ?? '')?.[1]
  return secret !== undefined && given !== undefined && timingSafeEqual(digest(secret), digest(given))
}

/**
 * Where a mail server, or a script behind its bounce address, hands in notifications of failure (RFC 3464) as they stand.
 * Handing the same one in again changes nothing. What is no such notification is taken and not kept.
 */
export async function serveBounces(app: NestFastifyApplication, parts: BounceParts): Promise<void> {
  await app.register(async (server: FastifyInstance) => {
    server.removeAllContentTypeParsers()
    server.addContentTypeParser('*', { parseAs: 'buffer', bodyLimit: MOST_BYTES }, (_request, body, done) => done(null, body))
    server.post('/inbound/bounces', { bodyLimit: MOST_BYTES }, async (request, reply) => {
      if (!isAllowed(parts.bounceSecret, request.headers.authorization)) {
        sendProblem(request, reply, new AppError('forbidden', 'NOT_SIGNED_IN', 'The secret of the inbound address is missing or wrong.'))
        return reply
      }
      const raw = Buffer.isBuffer(request.body) ? request.body : Buffer.alloc(0)
      const { entries, suppressed, unknown } = await takeBounce(parts.database, await parseBounce(raw), await parts.clock.now(), true)
      return reply.send({ entries, suppressed, unknown })
    })
  })
}
