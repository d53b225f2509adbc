// Loads the demo organisation into a database that has none, and keeps its sign-ins for the next start.
import { spawn } from 'node:child_process'
import { randomInt } from 'node:crypto'
import { existsSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { root } from '../lib.mjs'

const WORDS =
  'amber birch canal delta ember fjord grove haven inlet juniper kelp larch maple north olive pebble quartz river spruce thistle umber valley willow yarrow'.split(
    ' ',
  )

/** Four of twenty-four words and a number: made here, printed, never in the repository. */
function makePassword() {
  const words = Array.from({ length: 4 }, () => WORDS[randomInt(WORDS.length)])
  return `${words.join('-')}-${randomInt(10, 100)}`
}

function runDemo(env, input) {
  return new Promise((done, fail) => {
    const child = spawn(process.execPath, [join(root, 'prisma/demo/dist/main.js')], { cwd: root, env, stdio: ['pipe', 'pipe', 'pipe'] })
    let out = ''
    let problem = ''
    child.stdout.on('data', (text) => (out += text))
    child.stderr.on('data', (text) => (problem += text))
    child.on('error', fail)
    child.on('close', (code) =>
      code === 0 ? done(JSON.parse(out)) : fail(new Error(`The demo could not be loaded: ${problem.trim().slice(-2000)}`)),
    )
    child.stdin.end(JSON.stringify(input))
  })
}

/** @returns [{role, name, email, password}], empty where the database holds an organisation that is not our demo. */
export async function loadDemo({ env, dataDir, kind, say }) {
  const path = join(dataDir, 'demo.json')
  const kept = existsSync(path) ? JSON.parse(readFileSync(path, 'utf8')) : null
  const passwords = kept?.passwords ?? {
    administrator: makePassword(),
    manager: makePassword(),
    technician: makePassword(),
    instructed: makePassword(),
  }
  const began = Date.now()
  const answer = await runDemo(env, { kind, passwords })
  if (answer.loaded) {
    writeFileSync(path, JSON.stringify({ passwords, signIns: answer.signIns }), { mode: 0o600 })
    say(
      `Loaded the ${kind === 'empty' ? 'empty' : 'demo'} organisation: ${answer.summary} (${((Date.now() - began) / 1000).toFixed(1)} s).`,
    )
    return answer.signIns
  }
  return kept?.signIns ?? []
}
