/** Run by `npm run restore` before anything else runs on the restored database; by hand after a restore by other programs, or with an organisation's id after that was taken over from a file. */
import { createLogger, SettingsError } from '@tapewarden/platform'
import { settleRestored } from './restoring/settle-restored.js'
import { readWorkerSettings } from './settings.js'
import { closeParts, openParts } from './worker.js'

async function settle(): Promise<void> {
  const settings = readWorkerSettings(process.env)
  const parts = await openParts(settings, createLogger('settle-restored', settings.LOG_LEVEL))
  try {
    console.log(JSON.stringify(await settleRestored(parts, process.argv[2])))
  } finally {
    await closeParts(parts)
  }
}

settle().then(
  () => process.exit(0),
  (error: unknown) => {
    console.error(error instanceof SettingsError ? error.message : error)
    process.exit(1)
  },
)
