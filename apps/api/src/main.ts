/** The api's process: reads the settings once, listens, and ends when told to or when its parent is gone. */
import { createRequire } from 'node:module'
import { join, resolve } from 'node:path'
import { Database } from '@tapewarden/persistence'
import { createLogger, readSettings, type Settings, SettingsError } from '@tapewarden/platform'
import { createApi } from './create-api.js'
import { endWithParent } from './end-with-parent.js'
import { openPlanningRequests } from './use/queue-planning-requests.js'
import { openWorkerWatch } from './watch/open-worker-watch.js'

const GRACE_MS = 10_000
/** Found by its package: this file lies elsewhere when the process is put together. */
const WEB_FOLDER = resolve(createRequire(import.meta.url).resolve('@tapewarden/web/package.json'), '../dist')

function settingsOrEnd(): Settings {
  try {
    return readSettings(process.env)
  } catch (error) {
    console.error(error instanceof SettingsError ? error.message : error)
    process.exit(2)
  }
}

async function start(settings: Settings): Promise<void> {
  const logger = createLogger('api', settings.LOG_LEVEL)
  const database = await Database.open({ url: settings.DATABASE_URL, applicationName: 'tapewarden api', most: 20 })
  const clock = database.clock({ clockAt: settings.CLOCK_AT, clockOffsetMs: settings.CLOCK_OFFSET, production: settings.production })
  const planning = await openPlanningRequests(settings, logger)
  const app = await createApi({
    database,
    clock,
    planning,
    logger,
    secretKey: settings.SECRET_KEY,
    publicUrl: settings.PUBLIC_URL,
    bounceSecret: settings.BOUNCE_SECRET,
    oidcProviders: settings.OIDC_PROVIDERS,
    installation: {
      production: settings.production,
      publicUrl: settings.PUBLIC_URL,
      queueUrl: settings.QUEUE_URL,
      smtpUrl: settings.SMTP_URL,
      signsMail: settings.DKIM_PRIVATE_KEY !== undefined,
      clockShifted: settings.CLOCK_AT !== undefined || settings.CLOCK_OFFSET !== undefined,
    },
    behindProxy: settings.production,
    webFolder: join(WEB_FOLDER),
  })

  const watch = openWorkerWatch(settings, database, clock, logger)
  let ending = false
  const end = async (why: string): Promise<void> => {
    if (ending) return
    ending = true
    logger.info({ why }, 'ending')
    setTimeout(() => process.exit(1), GRACE_MS).unref()
    await app.close()
    await watch.close()
    await planning.close()
    await database.close()
    process.exit(0)
  }
  for (const signal of ['SIGTERM', 'SIGINT'] as const) process.on(signal, () => void end(signal))
  endWithParent(process.env.PARENT_WATCH === '1', () => void end('parent gone'))
  await app.listen(settings.PORT, settings.HOST)
  logger.info({ host: settings.HOST, port: settings.PORT }, 'listening')
}

start(settingsOrEnd()).catch((error: unknown) => {
  console.error(error instanceof Error ? (error.stack ?? error.message) : error)
  process.exit(1)
})
