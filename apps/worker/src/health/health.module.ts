import { Controller, type DynamicModule, Get, Header, Inject, Module, ServiceUnavailableException } from '@nestjs/common'
import type { Worker } from '../worker.js'
import { createMetrics } from './metrics.js'

const WORKER = Symbol('worker')
const METRICS = Symbol('metrics')

@Controller()
class HealthController {
  constructor(
    @Inject(WORKER) private readonly worker: Worker,
    @Inject(METRICS) private readonly metrics: ReturnType<typeof createMetrics>,
  ) {}

  @Get('health/live')
  live() {
    return { status: 'live' }
  }

  /** Ready: the database answers, and a sweep has ended well of late. A queue that is away is said, and the sweep goes on. */
  @Get('health/ready')
  async ready() {
    const { database, queue, settings } = this.worker.parts
    const answers = await database.askTime().then(
      () => true,
      () => false,
    )
    const queued = await Promise.race([
      queue.counts().then(
        () => true,
        () => false,
      ),
      new Promise<boolean>((done) => setTimeout(() => done(false), 2000).unref()),
    ])
    const sinceSweep = this.worker.secondsSinceSweep()
    const swept = sinceSweep !== null && sinceSweep < settings.SWEEP_SECONDS * 3 + 30
    const state = {
      database: answers ? 'answers' : 'away',
      queue: queued ? 'answers' : 'away',
      secondsSinceSweep: sinceSweep === null ? null : Math.round(sinceSweep),
    }
    if (!answers || !swept) throw new ServiceUnavailableException({ status: 'not ready', ...state })
    return { status: 'ready', ...state }
  }

  @Get('metrics')
  @Header('content-type', 'text/plain; version=0.0.4; charset=utf-8')
  text() {
    return this.metrics.text()
  }
}

@Module({})
export class HealthModule {
  static for(worker: Worker): DynamicModule {
    return {
      module: HealthModule,
      controllers: [HealthController],
      providers: [
        { provide: WORKER, useValue: worker },
        { provide: METRICS, useFactory: () => createMetrics(worker) },
      ],
    }
  }
}
