import { availableParallelism } from 'node:os'
import { readSettings, type Settings, SettingsError } from '@tapewarden/platform'
import { z } from 'zod'
import { CRASH_POINTS } from './crash-points.js'

const seconds = (fallback: string) =>
  z
    .string()
    .default(fallback)
    .transform(Number)
    .refine((value) => Number.isFinite(value) && value > 0 && value <= 3600, 'must be a number of seconds up to 3600')
const count = (fallback: string) =>
  z
    .string()
    .default(fallback)
    .transform(Number)
    .refine((value) => Number.isInteger(value) && value >= 1 && value <= 64, 'must be a whole number from 1 to 64')

const own = z.object({
  /** How often PostgreSQL is asked what should have moved. */
  SWEEP_SECONDS: seconds('30'),
  /** How long a dead worker's job stays locked. */
  JOB_LOCK_SECONDS: seconds('30'),
  /** How long a message belongs to who claimed it, and who hands it over. Longer than any attempt. */
  SEND_LEASE_SECONDS: seconds('180'),
  /** Longest silence of the mail server that is waited for. */
  SMTP_SILENCE_SECONDS: seconds('120'),
  /** Wait before a message that the server could not take is tried again; each further wait is twice as long, up to thirty times. */
  SEND_RETRY_SECONDS: seconds('60'),
  /** Messages handed over to the mail server at once: as many may be uncertain after a death. */
  SEND_CONCURRENCY: count('16'),
  SMTP_CONNECTIONS: count('5'),
  /** Chunks of machines that are planned at once, each in a thread of its own. */
  PLANNING_THREADS: count(String(Math.min(2, availableParallelism()))),
  /** '1': end when standard input closes, which is when the process that started us is gone. */
  PARENT_WATCH: z.enum(['', '0', '1']).default('0'),
  /** A crash point, or 'name@3' for its third passing; tests only. */
  CRASH_AT: z
    .string()
    .regex(/^[a-z_]+(@\d+)?$/, 'must be the name of a crash point')
    .refine((text) => (CRASH_POINTS as readonly string[]).includes(text.split('@')[0] ?? ''), 'must be the name of a crash point')
    .optional(),
  /** host:port of the own network that webhooks may go to, parted by commas; everything else must be public and https. */
  WEBHOOK_ALLOWED_HOSTS: z
    .string()
    .default('')
    .transform(
      (text) =>
        new Set(
          text
            .split(',')
            .map((one) => one.trim().toLowerCase())
            .filter(Boolean),
        ) as ReadonlySet<string>,
    )
    .refine((all) => [...all].every((one) => /^[^/@\s]+:\d{1,5}$/.test(one)), 'must be host:port, parted by commas'),
  /** A Maildir into which the mail server delivers what comes back. */
  BOUNCE_FOLDER: z.string().optional(),
})

export type WorkerSettings = Settings & Readonly<z.infer<typeof own>>

type Environment = Readonly<Record<string, string | undefined>>

function ownFaults(environment: Environment, issues: readonly z.core.$ZodIssue[]): string[] {
  const faults = issues.map((issue) => `${String(issue.path[0])} ${issue.message}.`)
  if (environment.NODE_ENV === 'production' && environment.CRASH_AT) faults.push('CRASH_AT is for tests; production refuses it.')
  return faults
}

/** @throws SettingsError that names every missing and bad key at once */
export function readWorkerSettings(environment: Environment): WorkerSettings {
  const given = Object.fromEntries(Object.entries(environment).filter(([, text]) => text !== undefined && text !== ''))
  const parsed = own.safeParse(given)
  const faults = ownFaults(given, parsed.success ? [] : parsed.error.issues)
  let common: Settings | null = null
  try {
    common = readSettings(environment)
  } catch (error) {
    if (!(error instanceof SettingsError)) throw error
    faults.unshift(...error.faults)
  }
  if (common === null || !parsed.success || faults.length > 0) throw new SettingsError(faults)
  return { ...common, ...parsed.data }
}
