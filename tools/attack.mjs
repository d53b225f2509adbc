// `npm run attack -- [--json] [--only A1,A2,…] [--scale small|full]`: attacks on the guards, on an embedded PostgreSQL of their own.
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { spawn } from 'node:child_process'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { parseArgs } from 'node:util'
import { buildIfNeeded } from './build.mjs'
import { ensurePackages, root } from './lib.mjs'

const FILES = {
  A1: 'tests/attack/a1-fuzz',
  A2: 'tests/attack/a2-tenants',
  A3: 'tests/attack/a3-ways-around',
  A4: 'tests/attack/a4-a5-racers',
  A5: 'tests/attack/a4-a5-racers',
  A6: 'libs/persistence/src/audit/audit',
}
const { values } = parseArgs({
  options: { json: { type: 'boolean' }, only: { type: 'string' }, scale: { type: 'string', default: 'small' } },
})
const asked = (values.only ?? Object.keys(FILES).join(',')).split(',').filter(Boolean)
const unknown = asked.filter((id) => !(id in FILES))
if (unknown.length > 0 || asked.length === 0 || !['small', 'full'].includes(values.scale)) {
  console.error(`Not known: ${[...unknown, values.scale].join(', ')}. Attacks: ${Object.keys(FILES).join(', ')}; scales: small, full.`)
  process.exit(2)
}

const say = (line) => console.error(line)
await ensurePackages(say)
await buildIfNeeded(say)
const folder = mkdtempSync(join(tmpdir(), 'tapewarden-attack-'))
const words = ['node_modules/jest/bin/jest.js', '--selectProjects=database', '--runInBand', '--testPathPatterns']
words.push([...new Set(asked.map((id) => FILES[id]))].join('|'))
const code = await new Promise((done) => {
  const child = spawn(process.execPath, words, {
    cwd: root,
    stdio: ['ignore', 'ignore', 'inherit'],
    env: {
      ...process.env,
      TZ: 'UTC',
      NODE_OPTIONS: '--experimental-vm-modules --no-warnings',
      ATTACK_SCALE: values.scale,
      ATTACK_REPORT: folder,
    },
  })
  child.on('close', done)
})
const path = join(folder, 'results.jsonl')
const lines = existsSync(path) ? readFileSync(path, 'utf8').split('\n').filter(Boolean) : []
rmSync(folder, { recursive: true, force: true })
const results = lines.map((line) => JSON.parse(line)).filter(({ id }) => asked.includes(id))
const missing = asked.filter((id) => !results.some((result) => result.id === id))
const held = code === 0 && missing.length === 0
if (values.json) console.log(JSON.stringify({ held, scale: values.scale, results }, null, 2))
else {
  for (const { id, what, scale: _scale, ...figures } of results)
    console.log(
      `${id}  ${what}: ${Object.entries(figures)
        .map(([name, value]) => `${name} ${value}`)
        .join(', ')}`,
    )
  console.log(held ? 'Everything held.' : `SOMETHING DID NOT HOLD${missing.length > 0 ? `; no result of ${missing.join(', ')}` : ''}.`)
}
process.exit(held ? 0 : 1)
