import { existsSync } from 'node:fs'
import { join } from 'node:path'
import staticFiles from '@fastify/static'
import type { NestFastifyApplication } from '@nestjs/platform-fastify'
import { NotFoundError } from '@tapewarden/platform'
import type { FastifyReply, FastifyRequest } from 'fastify'
import { sendProblem } from './problem.filter.js'

const FOREVER = 'public, max-age=31536000, immutable'
/** Vite puts a hash of the content into these names. */
const HASHED = /[/\\]assets[/\\][^/\\]+-[\w-]{8,}\.\w+(\.(br|gz))?$/
const NEVER_A_PAGE = /^\/(api|health|docs|openapi\.json)(\/|\?|$)/

/**
 * The built web app. Unknown paths without a file ending are pages of the desk; everything else that is not
 * there is a problem document.
 */
export async function servePages(app: NestFastifyApplication, folder: string | undefined): Promise<void> {
  const root = folder && existsSync(join(folder, 'index.html')) ? folder : undefined
  if (root)
    await app.register(staticFiles, {
      root,
      preCompressed: true,
      cacheControl: false,
      setHeaders: (reply, path) => void reply.header('cache-control', HASHED.test(path) ? FOREVER : 'no-cache'),
    })
  const server = app.getHttpAdapter().getInstance()
  server.setNotFoundHandler(async (request: FastifyRequest, reply: FastifyReply) => {
    const path = request.url.split('?')[0] ?? '/'
    const asksForPage = (request.method === 'GET' || request.method === 'HEAD') && !NEVER_A_PAGE.test(request.url) && !/\.\w+$/.test(path)
    if (root && asksForPage) return reply.header('cache-control', 'no-cache').sendFile('index.html')
    sendProblem(request, reply, new NotFoundError(NEVER_A_PAGE.test(request.url) ? 'route' : 'page'))
    return reply
  })
}
