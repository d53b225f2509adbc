// `npm run calibrate -- [--json] [--warehouses 30] [--years 5] [--seed 1] [--parts 2]`: are the dates true? Simulated fleets
// with known truth go through the whole computation; progress goes to stderr, figures to stdout.
import { spawn } from 'node:child_process'
import { availableParallelism } from 'node:os'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { pathToFileURL } from 'node:url'
import { parseArgs } from 'node:util'
import { ensurePackages, root, run } from './lib.mjs'

const { values } = parseArgs({
  options: {
    json: { type: 'boolean' },
    warehouses: { type: 'string', default: '30' },
    years: { type: 'string', default: '5' },
    seed: { type: 'string', default: '1' },
    parts: { type: 'string', default: String(Math.min(2, availableParallelism())) },
  },
})
for (const name of ['warehouses', 'years', 'seed', 'parts'])
  if (!/^[1-9]\d{0,5}$/.test(values[name])) {
    console.error(`--${name} must be a whole number of 1 or more, not ${values[name]}.`)
    process.exit(2)
  }

const say = (line) => console.error(line)
await ensurePackages(say)
const compiler = 'node_modules/typescript7/bin/tsc'
await run(process.execPath, [compiler, '-b', 'libs/scheduling'], { log: say })
await run(process.execPath, [compiler, '-p', 'tests/calibration/tsconfig.json'], { log: say })
const dist = join(root, 'tests/calibration/dist')

function part(first) {
  const words = [values.seed, values.years, values.warehouses, String(first), values.parts]
  const child = spawn(process.execPath, [join(dist, 'part.js'), ...words], {
    cwd: root,
    stdio: ['ignore', 'pipe', 'inherit'],
    env: { ...process.env, TZ: 'UTC' },
  })
  const records = []
  createInterface({ input: child.stdout }).on('line', (line) => records.push(JSON.parse(line)))
  return new Promise((done, fail) => {
    child.on('error', fail)
    child.on('close', (code) => (code === 0 ? done(records) : fail(new Error(`A part of the simulation ended with ${code}.`))))
  })
}

const began = Date.now()
const records = (await Promise.all(Array.from({ length: Number(values.parts) }, (_, first) => part(first)))).flat()
const { reportOf } = await import(pathToFileURL(join(dist, 'report.js')).href)
const { judge } = await import(pathToFileURL(join(dist, 'wanted.js')).href)
const report = reportOf(records)
const judged = judge(report)
const seconds = Math.round((Date.now() - began) / 1000)
const setting = { seed: Number(values.seed), warehouses: Number(values.warehouses), years: Number(values.years), seconds }
if (values.json) console.log(JSON.stringify({ setting, judged, ...report }, null, 2))
else {
  for (const { what, value, wanted, reached } of judged)
    console.log(`${reached ? 'reached' : 'SHORT  '}  ${what.padEnd(84)} ${value.toFixed(3).padStart(9)}   wanted ${wanted}`)
  const short = judged.filter(({ reached }) => !reached).length
  console.log(
    `${judged.length - short} of ${judged.length} reached; seed ${setting.seed}, ${setting.warehouses} warehouses, ${setting.years} years, ${seconds} s.`,
  )
}
