// Puts each process together into few files: a start reads a dozen files instead of two thousand, which takes less than half the time.
// What the files hold is what tsc built, names kept, not shortened: a line of a stack trace names the function, and the
// comment above it the file.
import { mkdirSync, readdirSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { rolldown } from 'rolldown'
import { root } from './lib.mjs'

/** Processes and their threads. A thread's file lies beside the one that starts it. */
const PROCESSES = [
  { folder: 'apps/api/dist', entries: ['main.js'] },
  { folder: 'apps/worker/dist', entries: ['main.js', 'planning/planner-thread.js'] },
]

/** Left where npm put them: what holds compiled code, what starts a thread by its own file's name, and what a framework tries for and does without. */
const LEFT = [
  /^@node-rs\//,
  'piscina',
  'pg-native',
  /^@nestjs\/(microservices|websockets|platform-express)(\/|$)/,
  'class-transformer',
  'class-validator',
  /^@fastify\/(view|multipart)$/,
]

/** A process that runs still reads files of the build that it began with; after so long it has read what it will. */
const KEPT_MS = 24 * 3600 * 1000

function removeOld(into, made) {
  for (const name of readdirSync(into)) {
    const path = join(into, name)
    if (!made.has(name) && Date.now() - statSync(path).mtimeMs > KEPT_MS) rmSync(path)
  }
}

for (const { folder, entries } of PROCESSES) {
  const into = join(root, folder, 'whole')
  const unresolved = []
  const whole = await rolldown({
    input: entries.map((entry) => join(root, folder, entry)),
    platform: 'node',
    external: LEFT,
    onLog(level, log) {
      if (log.code === 'UNRESOLVED_IMPORT') unresolved.push(`${log.exporter} in ${log.id}`)
    },
  })
  const { output } = await whole.generate({
    format: 'esm',
    keepNames: true,
    entryFileNames: '[name].js',
    chunkFileNames: '[name]-[hash].js',
  })
  await whole.close()
  if (unresolved.length > 0) throw new Error(`Cannot be put together:\n${unresolved.join('\n')}`)
  mkdirSync(into, { recursive: true })
  // Each file appears whole, and what an entry asks for before the entry: a process may start at any moment.
  for (const { fileName, code } of output.toSorted((one, other) => Number(one.isEntry) - Number(other.isEntry))) {
    if (code === undefined) throw new Error(`${fileName} is not code: say in LEFT what brings it.`)
    const path = join(into, fileName)
    writeFileSync(`${path}.new`, code)
    renameSync(`${path}.new`, path)
  }
  removeOld(into, new Set(output.map(({ fileName }) => fileName)))
}
