// `npm run organisation -- write --organisation NAME --to FILE`: everything of one organisation but ways of signing in, with a checksum.
// `npm run organisation -- take --from FILE`: brings it into this installation, where it is not yet; whole or not at all.
import { spawnSync } from 'node:child_process'
import { join } from 'node:path'
import { buildIfNeeded } from './build.mjs'
import { openDatabase } from './installation.mjs'
import { ensurePackages, root } from './lib.mjs'

const say = (line) => console.error(line)
const words = process.argv.slice(2)
await ensurePackages(say)
await buildIfNeeded(say)
const database = await openDatabase({ log: say })
const run = (path, more, env = {}) =>
  spawnSync(process.execPath, [join(root, path), ...more], {
    stdio: ['ignore', 'inherit', 'inherit'],
    env: { ...process.env, DATABASE_URL: database.appUrl, ...env },
  }).status ?? 1
const status = run('libs/persistence/dist/organisation-file/cli.js', words)
await database.stop()
process.exit(status)
