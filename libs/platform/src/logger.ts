import { type DestinationStream, type Logger, type LoggerOptions, pino } from 'pino'

export type { Logger } from 'pino'

/** Names under which secrets travel; their values are replaced wherever they stand up to two levels down. */
const SECRET_NAMES = [
  'password',
  'passwordHash',
  'password_hash',
  'shortCode',
  'token',
  'tokenHash',
  'secret',
  'secretKey',
  'SECRET_KEY',
  'authorization',
  'cookie',
  'accessKey',
  'DATABASE_URL',
  'DATABASE_OWNER_URL',
  'QUEUE_URL',
  'SMTP_URL',
  'connectionString',
  'clientSecret',
  'OIDC_PROVIDERS',
]
const HEADERS = ['authorization', 'cookie', 'set-cookie', 'x-access-key'].flatMap((name) => [
  `req.headers["${name}"]`,
  `res.headers["${name}"]`,
])
export const REDACTED_PATHS = [...SECRET_NAMES.flatMap((name) => [name, `*.${name}`, `*.*.${name}`]), ...HEADERS]

/** Addresses with a password in them appear in drivers' errors. */
export function withoutPasswords(text: string): string {
  return text.replace(/(\b[a-z][a-z0-9+.-]*:\/\/[^\s:/@]*):[^\s@/"\\,]+@/gi, '$1:***@')
}

export function loggerOptions(name: string, level: string): LoggerOptions {
  return {
    name,
    level,
    timestamp: pino.stdTimeFunctions.isoTime,
    redact: { paths: REDACTED_PATHS, censor: '***' },
    formatters: { level: (label) => ({ level: label }) },
    hooks: { streamWrite: withoutPasswords },
  }
}

/** One line of JSON an event, with secrets replaced. `name` is the process: api or worker. */
export function createLogger(name: string, level: string, destination?: DestinationStream): Logger {
  return destination ? pino(loggerOptions(name, level), destination) : pino(loggerOptions(name, level))
}
