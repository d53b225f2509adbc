/** `npm run rebuild-queue`: puts every job again that PostgreSQL knows of. Safe at any time, as often as one likes. */
import { createLogger, SettingsError } from '@tapewarden/platform'
import { readWorkerSettings } from './settings.js'
import { sweep } from './sweep/sweep.js'
import { closeParts, openParts } from './worker.js'

async function rebuild(): Promise<void> {
  const settings = readWorkerSettings(process.env)
  const parts = await openParts(settings, createLogger('rebuild-queue', settings.LOG_LEVEL))
  try {
    await parts.queue.waitUntilReady()
    const began = Date.now()
    const swept = await sweep(parts, `rebuild-${began.toString(36)}`)
    console.log(
      `${swept.jobs} jobs of ${swept.organisations} organisations put again in ${((Date.now() - began) / 1000).toFixed(1)} s; ` +
        `${swept.uncertain} messages are uncertain, ${swept.released} free again, ${swept.expired} ended.`,
    )
  } finally {
    await closeParts(parts)
  }
}

rebuild().then(
  () => process.exit(0),
  (error: unknown) => {
    console.error(error instanceof SettingsError ? error.message : error)
    process.exit(1)
  },
)
