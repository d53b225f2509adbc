import type { NestFastifyApplication } from '@nestjs/platform-fastify'

/** A file as a request's body is left on the wire: its handler reads it row by row from request.raw, and counts its bytes itself. */
export function streamFiles(app: NestFastifyApplication): void {
  app
    .getHttpAdapter()
    .getInstance()
    .addContentTypeParser('application/octet-stream', (_request: unknown, _payload: unknown, done: (error: null, body: null) => void) =>
      done(null, null),
    )
}
