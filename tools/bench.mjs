// `npm run bench -- [--only pass,forecast] [--json]`: ratios against floors measured in the same run.
import { readdirSync } from 'node:fs'
import { spawnSync } from 'node:child_process'
import { join } from 'node:path'
import { buildIfNeeded } from './build.mjs'
import { ensurePackages, root, run, WORKER_ENV, WORKER_FLAGS } from './lib.mjs'

const words = process.argv.slice(2)
const json = words.includes('--json')
const onlyAt = words.indexOf('--only')
const known = readdirSync(join(root, 'tests/bench'))
  .filter((file) => file.endsWith('.ts') && file !== 'result.ts' && !file.startsWith('support'))
  .map((file) => file.slice(0, -3))
const asked = onlyAt < 0 ? known : (words[onlyAt + 1] ?? '').split(',').filter(Boolean)
const unknown = asked.filter((name) => !known.includes(name))
if (unknown.length > 0 || asked.length === 0) {
  console.error(`No such bench: ${unknown.join(', ') || '(none named)'}. There are: ${known.join(', ')}.`)
  process.exit(2)
}

const say = (line) => console.error(line)
await ensurePackages(say)
await buildIfNeeded(say)
await run(process.execPath, ['node_modules/typescript7/bin/tsc', '-p', 'tests/bench/tsconfig.json'])

const results = []
for (const name of asked) {
  say(`Bench ${name} …`)
  const child = spawnSync(process.execPath, ['--expose-gc', join(root, 'tools/bench-one.mjs'), name], {
    cwd: root,
    encoding: 'utf8',
    maxBuffer: 1 << 28,
    stdio: ['ignore', 'pipe', 'inherit'],
    env: {
      ...process.env,
      TZ: 'UTC',
      TAPEWARDEN_WORKER_FLAGS: WORKER_FLAGS.join(' '),
      TAPEWARDEN_WORKER_ENV: JSON.stringify(WORKER_ENV),
    },
  })
  if (child.status !== 0) {
    console.error(`Bench ${name} failed.`)
    process.exit(1)
  }
  results.push(...JSON.parse(child.stdout.trim().split('\n').at(-1)))
}
if (json) console.log(JSON.stringify(results, null, 2))
else
  for (const { name, min, median, max, goal, note } of results)
    console.log(
      `${name.padEnd(44)} ${median.toFixed(2)} (${min.toFixed(2)}–${max.toFixed(2)})${goal === null ? '' : `, goal ${goal}`}  ${note}`,
    )
