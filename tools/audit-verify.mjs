// `npm run audit-verify -- [--json] [--anchors FILE]`: reads every organisation's audit chain and finds any change.
import { spawnSync } from 'node:child_process'
import { mkdirSync } from 'node:fs'
import { join } from 'node:path'
import { buildIfNeeded } from './build.mjs'
import { DATA, openDatabase } from './installation.mjs'
import { ensurePackages, root } from './lib.mjs'

const words = process.argv.slice(2)
const say = (line) => console.error(line)
await ensurePackages(say)
await buildIfNeeded(say)
mkdirSync(DATA, { recursive: true })
const database = await openDatabase({ log: say })
const anchors = words.includes('--anchors') ? [] : ['--anchors', join(DATA, 'audit-anchors.jsonl')]
const { status } = spawnSync(process.execPath, [join(root, 'libs/persistence/dist/audit/cli.js'), ...words, ...anchors], {
  stdio: ['ignore', 'inherit', 'inherit'],
  env: { ...process.env, DATABASE_URL: database.appUrl },
})
await database.stop()
process.exit(status ?? 1)
