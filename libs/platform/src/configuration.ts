import { z } from 'zod'
import { parseOffset } from './clock.js'
import { readOidcProviders } from './oidc-providers.js'

/** Passwords and keys that stand in examples; production accepts none of them. */
const KNOWN_SECRETS = new Set(['postgres', 'password', 'tapewarden', 'secret', 'changeme', 'change-me', 'example', 'admin'])
const POSTGRES = ['postgres:', 'postgresql:']

function address(schemes: readonly string[]) {
  const wanted = schemes.map((scheme) => `${scheme}//`).join(' or ')
  return z
    .string()
    .refine((text) => URL.canParse(text) && schemes.includes(new URL(text).protocol), `must be an address that begins with ${wanted}`)
}

const offset = z.string().transform((text, context) => {
  const offsetMs = parseOffset(text)
  if (offsetMs !== null) return offsetMs
  context.addIssue({ code: 'custom', message: "must be a length of time such as '3d', '-36h' or '90m'" })
  return z.NEVER
})

const common = {
  DATABASE_URL: address(POSTGRES),
  NODE_ENV: z.enum(['development', 'test', 'production']),
  LOG_LEVEL: z.enum(['trace', 'debug', 'info', 'warn', 'error', 'fatal', 'silent']),
  PORT: z
    .string()
    .regex(/^\d{1,5}$/, 'must be a whole number from 0 to 65535')
    .transform(Number)
    .refine((port) => port <= 65_535, 'must be a whole number from 0 to 65535'),
  HOST: z.string().min(1),
  PUBLIC_URL: address(['http:', 'https:']),
  QUEUE_URL: address(['redis:', 'rediss:', ...POSTGRES]),
  SMTP_URL: address(['smtp:', 'smtps:']),
  MAIL_FROM: z.string().regex(/.@./, 'must hold a mail address'),
  SECRET_KEY: z.string().min(32, 'must have at least 32 characters'),
  /** Of the mail server that hands in what comes back; left out: nobody may. */
  BOUNCE_SECRET: z.string().min(24, 'must have at least 24 characters').optional(),
  /** No worker heard of for so long: the api tells the administrators by mail. */
  WORKER_SILENCE_SECONDS: z
    .string()
    .default('75')
    .transform(Number)
    .refine((value) => value >= 1 && value <= 3600, 'must be a number of seconds from 1 to 3600'),
  /** Organisations' own sign-ins (OpenID Connect), as a JSON list. */
  OIDC_PROVIDERS: z.string().default('[]').transform(readOidcProviders),
  /** Signing of mail: all three or none. */
  DKIM_DOMAIN: z.string().optional(),
  DKIM_SELECTOR: z.string().optional(),
  DKIM_PRIVATE_KEY: z.string().optional(),
  CLOCK_AT: z.iso
    .datetime({ offset: true, message: 'must be an instant such as 2026-03-02T08:00:00Z' })
    .transform((text) => new Date(text))
    .optional(),
  CLOCK_OFFSET: offset.optional(),
}
const schema = z.object(common)
export type Settings = Readonly<z.infer<typeof schema>> & { readonly production: boolean }
type Environment = Readonly<Record<string, string | undefined>>

/** Everything that is wrong with the settings, in one message that never holds a value. */
export class SettingsError extends Error {
  constructor(readonly faults: readonly string[]) {
    super(`The settings are not complete:\n${faults.map((fault) => `- ${fault}`).join('\n')}`)
    this.name = 'SettingsError'
  }
}

function withDefaults(environment: Environment): Record<string, string | undefined> {
  const given = Object.fromEntries(Object.entries(environment).filter(([, text]) => text !== undefined && text !== ''))
  const always = { NODE_ENV: 'development', LOG_LEVEL: 'info', HOST: '127.0.0.1' }
  if (given.NODE_ENV === 'production') return { ...always, ...given }
  const port = given.PORT ?? '8321'
  return {
    ...always,
    PORT: port,
    PUBLIC_URL: `http://127.0.0.1:${port}`,
    QUEUE_URL: given.DATABASE_URL,
    SMTP_URL: 'smtp://127.0.0.1:1025',
    MAIL_FROM: 'Tapewarden <tapewarden@tapewarden.example>',
    ...given,
  }
}

function passwordOf(text: string | undefined): string {
  return text !== undefined && URL.canParse(text) ? decodeURIComponent(new URL(text).password) : ''
}

/** What production does not accept although its form is right. */
function productionFaults(environment: Environment): string[] {
  const faults = ['CLOCK_AT', 'CLOCK_OFFSET']
    .filter((key) => environment[key])
    .map((key) => `${key} is for tests and demos; production refuses it.`)
  for (const key of ['DATABASE_URL', 'QUEUE_URL', 'SMTP_URL'])
    if (KNOWN_SECRETS.has(passwordOf(environment[key]).toLowerCase())) faults.push(`${key} holds a password that stands in examples.`)
  const key = environment.SECRET_KEY ?? ''
  if (key !== '' && new Set(key).size < 10) faults.push('SECRET_KEY is too regular: make it at random.')
  return faults
}

function faultOf(issue: z.core.$ZodIssue, environment: Environment): string {
  const key = String(issue.path[0])
  if (!environment[key]) return `${key} is missing.`
  if (issue.code === 'invalid_value') return `${key} must be one of ${issue.values.join(', ')}.`
  return `${key} ${issue.message}.`
}

/**
 * Reads the settings of api or worker once, at start. Defaults stand in only outside production.
 * @throws SettingsError that names every missing and bad key at once, never a value
 */
export function readSettings(environment: Environment): Settings {
  const parsed = schema.safeParse(withDefaults(environment))
  const faults = parsed.success ? [] : parsed.error.issues.map((issue) => faultOf(issue, environment))
  if (environment.NODE_ENV === 'production') faults.push(...productionFaults(environment))
  else if (environment.CLOCK_AT && environment.CLOCK_OFFSET) faults.push('CLOCK_AT and CLOCK_OFFSET exclude each other.')
  const dkim = ['DKIM_DOMAIN', 'DKIM_SELECTOR', 'DKIM_PRIVATE_KEY'].filter((key) => !environment[key])
  if (dkim.length > 0 && dkim.length < 3) faults.push(`${dkim.join(' and ')} is missing: DKIM needs all three.`)
  if (!parsed.success || faults.length > 0) throw new SettingsError(faults)
  return { ...parsed.data, production: parsed.data.NODE_ENV === 'production' }
}
