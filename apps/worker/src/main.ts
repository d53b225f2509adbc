/** The worker's process: takes jobs, sweeps, answers for its health, and ends when told to or when its parent is gone. */
import 'reflect-metadata'
import { NestFactory } from '@nestjs/core'
import { FastifyAdapter, type NestFastifyApplication } from '@nestjs/platform-fastify'
import { createLogger, SettingsError } from '@tapewarden/platform'
import { endWithParent } from './end-with-parent.js'
import { HealthModule } from './health/health.module.js'
import { readWorkerSettings, type WorkerSettings } from './settings.js'
import { closeParts, openParts, Worker } from './worker.js'

/** Jobs in hand get this long to end; what is then under way is settled by the next sweep. */
const GRACE_MS = 25_000

function settingsOrEnd(): WorkerSettings {
  try {
    return readWorkerSettings(process.env)
  } catch (error) {
    console.error(error instanceof SettingsError ? error.message : error)
    process.exit(2)
  }
}

async function start(settings: WorkerSettings): Promise<void> {
  const log = createLogger('worker', settings.LOG_LEVEL)
  const parts = await openParts(settings, log)
  const worker = await Worker.start(parts)
  const health = await NestFactory.create<NestFastifyApplication>(HealthModule.for(worker), new FastifyAdapter(), { logger: false })

  let ending = false
  const end = async (why: string): Promise<void> => {
    if (ending) return
    ending = true
    log.info({ why }, 'ending')
    setTimeout(() => process.exit(1), GRACE_MS).unref()
    await worker.stop()
    await health.close()
    await closeParts(parts)
    process.exit(0)
  }
  for (const signal of ['SIGTERM', 'SIGINT'] as const) process.on(signal, () => void end(signal))
  endWithParent(settings.PARENT_WATCH === '1', () => void end('parent gone'))
  await health.listen(settings.PORT, settings.HOST)
  log.info({ host: settings.HOST, port: settings.PORT, queue: parts.queue.backend.kind }, 'working')
}

start(settingsOrEnd()).catch((error: unknown) => {
  console.error(error instanceof Error ? (error.stack ?? error.message) : error)
  process.exit(1)
})
