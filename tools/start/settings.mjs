// Reads the words after `npm start --` and the environment; says everything that is wrong at once.

const HELP = `npm start -- [--json] [--fresh | --demo] [--port N] [--lan] [--smoke]
  --json     one line with addresses and sign-ins when ready, for scripts
  --fresh    throw the kept data away and start with an empty organisation (people to sign in as, nothing else)
  --demo     throw the kept data away and start with the demo organisation as on the first day
  --port N   where the pages are (default: the first free port from 8321 on)
  --lan      an https address for phones in the same network, with a code to scan
  --smoke    run the main job once on fresh demo data, show each step, and end
Settings: DATABASE_URL, DATABASE_OWNER_URL, QUEUE_URL, SMTP_URL, PORT (README.md, Settings)`

const SCHEMES = {
  DATABASE_URL: ['postgres:', 'postgresql:'],
  DATABASE_OWNER_URL: ['postgres:', 'postgresql:'],
  QUEUE_URL: ['redis:', 'rediss:', 'postgres:', 'postgresql:'],
  SMTP_URL: ['smtp:', 'smtps:'],
}

function readArguments(words, wrong) {
  const asked = { json: false, fresh: false, demo: false, smoke: false, lan: false, port: null }
  for (let index = 0; index < words.length; index++) {
    const word = words[index]
    if (word === '--help' || word === '-h') {
      console.log(HELP)
      process.exit(0)
    } else if (word === '--json' || word === '--fresh' || word === '--demo' || word === '--smoke' || word === '--lan')
      asked[word.slice(2)] = true
    else if (word === '--port') asked.port = words[++index] ?? ''
    else if (word.startsWith('--port=')) asked.port = word.slice(7)
    else wrong.push(`'${word}' is not an option.`)
  }
  if (asked.fresh && asked.demo) wrong.push('--fresh and --demo exclude each other.')
  return asked
}

function readPort(text, where, wrong) {
  if (text === null || text === undefined || text === '') return null
  const port = Number(text)
  if (Number.isInteger(port) && port >= 1 && port <= 65535) return port
  wrong.push(`${where} must be a whole number from 1 to 65535.`)
  return null
}

function readAddress(name, environment, wrong) {
  const text = environment[name]
  if (text === undefined || text === '') return null
  try {
    if (SCHEMES[name].includes(new URL(text).protocol)) return text
  } catch {
    // said below, without the value: it may hold a password
  }
  wrong.push(`${name} must be an address that begins with ${SCHEMES[name].map((scheme) => scheme + '//').join(' or ')}.`)
  return null
}

/** @returns the settings, or ends the process with one message that names each bad one. */
export function readSettings(words, environment) {
  const wrong = []
  const asked = readArguments(words, wrong)
  const port = readPort(asked.port, '--port', wrong) ?? readPort(environment.PORT, 'PORT', wrong)
  const addresses = Object.fromEntries(Object.keys(SCHEMES).map((name) => [name, readAddress(name, environment, wrong)]))
  if (addresses.DATABASE_OWNER_URL && !addresses.DATABASE_URL)
    wrong.push('DATABASE_OWNER_URL needs DATABASE_URL, the address of the application’s own role.')
  if (wrong.length > 0) {
    console.error(`Tapewarden cannot start:\n${wrong.map((line) => `- ${line}`).join('\n')}\n\n${HELP}`)
    process.exit(2)
  }
  return {
    ...asked,
    port,
    portIsFixed: port !== null,
    databaseUrl: addresses.DATABASE_URL,
    ownerUrl: addresses.DATABASE_OWNER_URL,
    queueUrl: addresses.QUEUE_URL,
    smtpUrl: addresses.SMTP_URL,
  }
}
