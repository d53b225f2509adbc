/** Each answer's Date header says the time by which the installation works: the database's, not that of the machine the api runs on. */
import type { NestFastifyApplication } from '@nestjs/platform-fastify'
import type { Clock } from '@tapewarden/platform'

/** Node says its own time, and is asked by nobody for less. */
const MATTERS_MS = 30_000

/** Remembers by how much this machine's clock is ahead whenever somebody asks what time it is. */
export class WatchedClock implements Clock {
  aheadMs = 0

  constructor(private readonly clock: Clock) {}

  async now(): Promise<Date> {
    const askedMs = Date.now()
    const now = await this.clock.now()
    this.aheadMs = (askedMs + Date.now()) / 2 - now.getTime()
    return now
  }
}

/** Phones and desks go by it; where a proxy in front puts in its own time, by that. */
export function sayTime(app: NestFastifyApplication, clock: WatchedClock): void {
  app
    .getHttpAdapter()
    .getInstance()
    .addHook('onSend', async (_request, reply) => {
      if (Math.abs(clock.aheadMs) > MATTERS_MS) void reply.header('date', new Date(Date.now() - clock.aheadMs).toUTCString())
    })
}
