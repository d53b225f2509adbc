import cookie from '@fastify/cookie'
import helmet from '@fastify/helmet'
import rateLimit from '@fastify/rate-limit'
import { HttpException } from '@nestjs/common'
import type { NestFastifyApplication } from '@nestjs/platform-fastify'
import { AppError } from '@tapewarden/platform'
import { REQUEST_HEADER } from '@tapewarden/shared'
import type { FastifyRequest } from 'fastify'
import { sendProblem } from './problem.filter.js'

export interface SecuritySettings {
  publicUrl: string
  requestsPerMinute: number
  /** Over plain http a browser must not be told to switch to https. */
  https: boolean
}

const SAFE = new Set(['GET', 'HEAD', 'OPTIONS'])

/** A page of another origin can neither set our header nor hide where it comes from; a program's key comes with no cookie that counts. */
function isForged(request: FastifyRequest, publicUrl: string): boolean {
  if (SAFE.has(request.method) || !request.url.startsWith('/api/')) return false
  if (request.headers.authorization !== undefined) return false
  if (request.headers[REQUEST_HEADER] !== '1' || request.headers['sec-fetch-site'] === 'cross-site') return true
  const { origin, host } = request.headers
  if (origin === undefined) return false
  return !URL.canParse(origin) || (origin !== new URL(publicUrl).origin && new URL(origin).host !== host)
}

export async function secure(app: NestFastifyApplication, settings: SecuritySettings): Promise<void> {
  await app.register(cookie)
  await app.register(helmet, {
    contentSecurityPolicy: {
      useDefaults: false,
      directives: {
        defaultSrc: ["'self'"],
        scriptSrc: ["'self'"],
        scriptSrcAttr: ["'none'"],
        // Charts and pages set sizes by style attributes; no style sheet comes from elsewhere.
        styleSrc: ["'self'", "'unsafe-inline'"],
        imgSrc: ["'self'", 'data:', 'blob:'],
        connectSrc: ["'self'"],
        workerSrc: ["'self'"],
        manifestSrc: ["'self'"],
        fontSrc: ["'self'"],
        objectSrc: ["'none'"],
        baseUri: ["'none'"],
        formAction: ["'self'"],
        frameAncestors: ["'none'"],
      },
    },
    strictTransportSecurity: settings.https,
    crossOriginEmbedderPolicy: false,
    referrerPolicy: { policy: 'no-referrer' },
  })
  await app.register(rateLimit, {
    max: settings.requestsPerMinute,
    timeWindow: 60_000,
    allowList: (request: FastifyRequest) => !request.url.startsWith('/api/'),
    errorResponseBuilder: (_request, context) => new HttpException('Too many requests in this minute.', context.statusCode),
  })
  app
    .getHttpAdapter()
    .getInstance()
    .addHook('onRequest', async (request, reply) => {
      if (!isForged(request, settings.publicUrl)) return
      sendProblem(
        request,
        reply,
        new AppError('forbidden', 'FOREIGN_REQUEST', `A change must carry the header ${REQUEST_HEADER}: 1 and come from our own pages.`),
      )
      return reply
    })
}
