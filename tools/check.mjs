// `npm run check`: form, lint with types, types, boundaries. Every part runs; any that fails fails the whole.
import { spawnSync } from 'node:child_process'
import { existsSync, readdirSync } from 'node:fs'
import { join } from 'node:path'
import { buildIfNeeded } from './build.mjs'
import { ensurePackages, root } from './lib.mjs'

const FOLDERS = ['apps', 'libs', 'shared', 'prisma', 'tests'].filter((folder) => existsSync(join(root, folder)))

function* sources(folder) {
  for (const entry of readdirSync(join(root, folder), { withFileTypes: true })) {
    if (['node_modules', 'dist', 'generated'].includes(entry.name)) continue
    if (entry.isDirectory()) yield* sources(join(folder, entry.name))
    else if (/\.tsx?$/.test(entry.name) && !entry.name.endsWith('.d.ts')) yield join(folder, entry.name)
  }
}

function part(name, words) {
  const began = Date.now()
  const { status, stdout, stderr } = spawnSync(process.execPath, words, { cwd: root, encoding: 'utf8', maxBuffer: 1 << 28 })
  const ok = status === 0
  console.log(`${ok ? 'fine' : 'FAILED'}  ${name} (${((Date.now() - began) / 1000).toFixed(1)} s)`)
  if (!ok) console.log((stdout + stderr).trim().slice(-8000))
  return ok
}

/** With no usable compiler the tool reads nothing and is content: so count what it read. */
function boundaries(folders) {
  const words = [
    'node_modules/dependency-cruiser/bin/dependency-cruise.mjs',
    '--config',
    '.dependency-cruiser.mjs',
    '-T',
    'json',
    ...folders,
  ]
  const { stdout, stderr } = spawnSync(process.execPath, words, { cwd: root, encoding: 'utf8', maxBuffer: 1 << 28 })
  let report
  try {
    report = JSON.parse(stdout)
  } catch {
    console.log(`FAILED  boundaries: no report\n${stderr.slice(-2000)}`)
    return false
  }
  const wanted = folders.flatMap((folder) => [...sources(folder)])
  const read = new Set(report.modules.map((module) => module.source))
  const unread = wanted.filter((file) => !read.has(file))
  const errors = report.summary.violations.filter((violation) => violation.rule.severity === 'error')
  const ok = unread.length === 0 && errors.length === 0 && wanted.length > 0
  console.log(`${ok ? 'fine' : 'FAILED'}  boundaries (${wanted.length} files of ours, ${errors.length} violations)`)
  for (const { rule, from, to } of errors.slice(0, 40)) console.log(`  ${rule.name}: ${from} → ${to}`)
  for (const file of unread.slice(0, 20)) console.log(`  not read: ${file}`)
  return ok
}

await ensurePackages(console.log)
if (process.argv[2] === '--boundaries') process.exit(boundaries(process.argv.slice(3)) ? 0 : 1)

// The lint reads a test's types from what the packages were built into: without it, imports have no type at all.
const built = await buildIfNeeded(console.log).then(
  () => true,
  (error) => {
    console.log(`FAILED  build\n${error.message.slice(-8000)}`)
    return false
  },
)

const results = [
  part('form', ['node_modules/oxfmt/bin/oxfmt', '--check', ...FOLDERS, 'tools']),
  part('lint', ['node_modules/oxlint/bin/oxlint', '--type-aware', '--tsconfig', 'tsconfig.check.json', '--deny-warnings', ...FOLDERS]),
  part('types', ['node_modules/typescript7/bin/tsc', '-p', 'tsconfig.check.json']),
  part('types of the pages', ['node_modules/typescript7/bin/tsc', '-p', 'apps/web/tsconfig.json']),
  boundaries(['apps', 'libs', 'shared']),
]
process.exit(built && results.every(Boolean) ? 0 : 1)
