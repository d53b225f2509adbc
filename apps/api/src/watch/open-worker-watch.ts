import { createMailer } from '@tapewarden/messaging'
import type { Database } from '@tapewarden/persistence'
import type { Clock, Logger, Settings } from '@tapewarden/platform'
import { WorkerWatch } from './worker-watch.js'

/** A silent mail server costs the alarm no more than this. */
const SILENCE_MS = 60_000
const LONGEST_MS = 120_000
/** Longer than any attempt. */
const LEASE_SECONDS = 180

export interface OpenWatch {
  close(): Promise<void>
}

/** Looks after the workers from now on. */
export function openWorkerWatch(settings: Settings, database: Database, clock: Clock, logger: Logger): OpenWatch {
  const { DKIM_DOMAIN: domainName, DKIM_SELECTOR: keySelector, DKIM_PRIVATE_KEY: privateKey } = settings
  const dkim = domainName && keySelector && privateKey ? { domainName, keySelector, privateKey } : undefined
  const mailer = createMailer({ smtpUrl: settings.SMTP_URL, dkim, most: 1, silenceMs: SILENCE_MS, longestMs: LONGEST_MS })
  const watch = new WorkerWatch({
    database,
    clock,
    mailer,
    logger,
    publicUrl: settings.PUBLIC_URL,
    mailFrom: settings.MAIL_FROM,
    silenceSeconds: settings.WORKER_SILENCE_SECONDS,
    leaseSeconds: LEASE_SECONDS,
  })
  watch.start()
  return {
    async close() {
      mailer.close()
      await watch.stop()
    },
  }
}
