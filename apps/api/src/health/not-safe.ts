/** What is not safe about how this installation is set up, each with what to do. Pure. */

export interface Installation {
  production: boolean
  publicUrl: string
  /** null: not known to this process. */
  queueUrl: string | null
  smtpUrl: string | null
  signsMail: boolean
  clockShifted: boolean
}

export interface DatabaseFacts {
  /** The application's role may go round row-level security: superuser, BYPASSRLS, or owner of a table. */
  roleMayBypass: boolean
  /** The connection crosses a network without TLS. */
  crossesNetworkPlain: boolean
}

export interface NotSafe {
  what: string
  toDo: string
}

const LOOPBACK = /^(localhost|127\.\d+\.\d+\.\d+|\[::1\])$/
const isLocal = (address: string): boolean => LOOPBACK.test(new URL(address).hostname)

function ofPages({ publicUrl }: Installation): NotSafe[] {
  if (publicUrl.startsWith('https:')) return []
  return [
    {
      what: isLocal(publicUrl)
        ? 'The pages are served without TLS, for this computer only.'
        : 'The pages are served without TLS: passwords and entries can be read on their way.',
      toDo: 'Put TLS in front, and set PUBLIC_URL to the https address.',
    },
  ]
}

function ofQueue({ queueUrl }: Installation): NotSafe[] {
  if (queueUrl === null || isLocal(queueUrl) || !queueUrl.startsWith('redis')) return []
  const found: NotSafe[] = []
  if (new URL(queueUrl).password === '')
    found.push({ what: 'The queue asks for no password.', toDo: 'Give Redis one, and put it into QUEUE_URL.' })
  if (queueUrl.startsWith('redis:'))
    found.push({ what: 'The queue is reached without TLS.', toDo: 'Use a rediss address, or a network that nobody else is in.' })
  return found
}

function ofMail({ smtpUrl, signsMail }: Installation): NotSafe[] {
  const found: NotSafe[] = []
  if (smtpUrl !== null && smtpUrl.startsWith('smtp:') && !isLocal(smtpUrl))
    found.push({
      what: 'Mail is encrypted on its way only where the mail server offers it.',
      toDo: 'Use an smtps address in SMTP_URL where the server has one.',
    })
  if (!signsMail)
    found.push({
      what: 'Mails are not signed here: others can send in this name, and filters trust them less.',
      toDo: 'Set the three DKIM settings, unless your mail server signs.',
    })
  return found
}

/** @returns nothing where nothing is known to be unsafe; that is no proof that all is safe */
export function notSafeOf(installation: Installation, database: DatabaseFacts): NotSafe[] {
  const found = ofPages(installation)
  if (!installation.production)
    found.push({
      what: 'This is a trial: settings that production refuses are accepted.',
      toDo: 'Set NODE_ENV to production; the start then names what is missing.',
    })
  if (installation.clockShifted) found.push({ what: 'The clock is shifted.', toDo: 'Take CLOCK_AT and CLOCK_OFFSET away.' })
  if (database.roleMayBypass)
    found.push({
      what: 'The application’s database role may go round the guard between organisations.',
      toDo: 'Connect as tapewarden_app, which owns nothing and bypasses nothing.',
    })
  if (database.crossesNetworkPlain)
    found.push({ what: 'The database is reached over a network without TLS.', toDo: 'Add sslmode=verify-full to DATABASE_URL.' })
  return [...found, ...ofQueue(installation), ...ofMail(installation)]
}
