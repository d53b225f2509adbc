import type { NestFastifyApplication } from '@nestjs/platform-fastify'

/** One line a request, with its id, its route as declared (never the address with its values) and who asked. */
export function logRequests(app: NestFastifyApplication): void {
  app
    .getHttpAdapter()
    .getInstance()
    .addHook('onRequest', async (request, reply) => {
      void reply.header('x-request-id', request.id)
    })
    .addHook('onResponse', async (request, reply) => {
      request.log.info(
        {
          method: request.method,
          route: request.routeOptions.url ?? 'none',
          status: reply.statusCode,
          milliseconds: Math.round(reply.elapsedTime * 10) / 10,
          organisationId: request.who?.organisationId,
          personId: request.who?.personId,
        },
        'answered',
      )
    })
}
