import type { NestFastifyApplication } from '@nestjs/platform-fastify'
import { DOCS_STYLE, docsPage } from './docs-page.js'
import { openApiDocument } from './openapi.js'

export function serveDocs(app: NestFastifyApplication): void {
  const server = app.getHttpAdapter().getInstance()
  const document = JSON.stringify(openApiDocument())
  const page = docsPage()
  server.get('/openapi.json', (_request, reply) => reply.type('application/json; charset=utf-8').send(document))
  server.get('/docs', (_request, reply) => reply.type('text/html; charset=utf-8').send(page))
  server.get('/docs/style.css', (_request, reply) => reply.type('text/css; charset=utf-8').send(DOCS_STYLE))
}
