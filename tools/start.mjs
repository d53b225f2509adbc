// `npm start`: brings what is missing, starts everything, says where to look, and ends all of it with itself.
import { existsSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import { ensurePackages, refuseOldNode, root } from './lib.mjs'
import { Running } from './start/processes.mjs'
import { readSettings } from './start/settings.mjs'

refuseOldNode()
const settings = readSettings(process.argv.slice(2), process.env)
const say = settings.json ? (line) => console.error(line) : (line) => console.log(line)
const running = new Running()
const dataDir = join(root, '.data')

let ending = false
async function end(code) {
  if (ending) return
  ending = true
  await running.stop()
  process.exit(code)
}
for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP']) process.on(signal, () => end(0))

// npm, or whoever started this, may be killed without a word to us.
const parent = process.ppid
setInterval(() => process.ppid !== parent && end(0), 500).unref()

try {
  await ensurePackages(say)
  const { buildIfNeeded } = await import('./build.mjs')
  await buildIfNeeded(say)
  if (settings.smoke) {
    const { smoke } = await import('./start/smoke.mjs')
    await end(await smoke({ settings, running, say }))
  }
  const { startAll } = await import('./start/all.mjs')
  if (settings.fresh || settings.demo) {
    if (settings.databaseUrl)
      throw new Error('--fresh and --demo empty the embedded database only; this start uses DATABASE_URL. Empty that one yourself.')
    rmSync(dataDir, { recursive: true, force: true })
    await buildIfNeeded(say)
  }
  const firstTime = !settings.fresh && !existsSync(join(dataDir, 'demo.json'))
  const started = await startAll({
    settings,
    running,
    say,
    dataDir,
    demo: settings.fresh ? 'empty' : 'full',
    onEnd: (why) => fail(new Error(why)),
  })
  if (firstTime) {
    const { tellStory } = await import('./start/story.mjs')
    await tellStory({ ...started, say })
  }
  if (settings.json) console.log(JSON.stringify(started))
  else say(await describe(started))
} catch (error) {
  await fail(error)
}

async function fail(error) {
  if (ending) return
  console.error(`Tapewarden stopped: ${error.message}`)
  await end(1)
}

async function describe({ urls, signIns }) {
  const lines = [
    '',
    'Tapewarden is ready.',
    `  The desk       ${urls.desk}`,
    `  On site        ${urls.onSite}`,
    `  Mailbox        ${urls.mailbox ?? 'none here: mail goes to SMTP_URL'}`,
    `  Interface      ${urls.docs}`,
    '',
  ]
  if (urls.authority) lines.push(...(await forPhones(urls)))
  if (signIns.length > 0)
    lines.push(
      'Sign in to the demo as',
      ...signIns.map(({ role, email, password }) => `  ${role.padEnd(14)} ${email.padEnd(36)} ${password}`),
      '',
    )
  lines.push('Ctrl-C ends all of it; the data stays for the next start.')
  return lines.join('\n')
}

async function forPhones({ onSite, authority }) {
  const { terminalCode } = await import('./start/lan.mjs')
  return [
    'On a phone in the same network, scan this:',
    await terminalCode(onSite),
    'The certificate is made by this machine, so the phone warns once. Go on past the warning to look around.',
    'To work without a network the phone must trust it: open the address below on the phone, install the file as a certificate',
    'authority in its settings, and take it out again after the trial.',
    `  ${authority}`,
    '',
  ]
}
