import { type ArgumentsHost, Catch, type ExceptionFilter } from '@nestjs/common'
import type { FastifyReply, FastifyRequest } from 'fastify'
import { answerTo, problemOf, ReplayedProblem } from './problem.js'

export function sendProblem(request: FastifyRequest, reply: FastifyReply, error: unknown): void {
  if (error instanceof ReplayedProblem) {
    void reply
      .code(error.problem.status)
      .headers({ 'content-type': 'application/problem+json; charset=utf-8', 'cache-control': 'no-store' })
      .send(JSON.stringify(error.problem))
    return
  }
  const answer = answerTo(error)
  if (answer.status >= 500) request.log.error({ err: error }, 'request failed')
  else request.log.debug({ code: answer.code }, 'request refused')
  if (reply.sent) return
  void reply
    .code(answer.status)
    .headers({
      'content-type': 'application/problem+json; charset=utf-8',
      'cache-control': 'no-store',
      ...(answer.retryAfterSeconds === undefined ? {} : { 'retry-after': String(Math.ceil(answer.retryAfterSeconds)) }),
    })
    .send(JSON.stringify(problemOf(answer, request.id)))
}

@Catch()
export class ProblemFilter implements ExceptionFilter {
  catch(error: unknown, host: ArgumentsHost): void {
    const http = host.switchToHttp()
    sendProblem(http.getRequest<FastifyRequest>(), http.getResponse<FastifyReply>(), error)
  }
}
