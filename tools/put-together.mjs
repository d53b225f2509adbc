// Puts each process together into few files: a start reads a dozen files instead of two thousand, which takes less than half the time.
// What the files hold is what tsc built, names kept, not shortened: a line of a stack trace names the function, and the
// comment above it the file.
import { rmSync } from 'node:fs'
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

for (const { folder, entries } of PROCESSES) {
  const into = join(root, folder, 'whole')
  rmSync(into, { recursive: true, force: true })
  const unresolved = []
  const whole = await rolldown({
    input: entries.map((entry) => join(root, folder, entry)),
    platform: 'node',
    external: LEFT,
    onLog(level, log) {
      if (log.code === 'UNRESOLVED_IMPORT') unresolved.push(`${log.exporter} in ${log.id}`)
    },
  })
  await whole.write({ dir: into, format: 'esm', keepNames: true, entryFileNames: '[name].js', chunkFileNames: '[name]-[hash].js' })
  await whole.close()
  if (unresolved.length > 0) throw new Error(`Cannot be put together:\n${unresolved.join('\n')}`)
}
