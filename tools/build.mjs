// Builds everything, each part only when its sources changed. Also: `npm run build`.
import { existsSync } from 'node:fs'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { ensurePackages, readState, root, run, sourceHash, writeState } from './lib.mjs'

const PARTS = [
  {
    name: 'database client',
    folders: ['prisma/schema'],
    files: ['prisma.config.ts', 'package-lock.json', 'tools/generate-prisma.mjs'],
    made: 'libs/persistence/src/generated',
    build: (log) => run(process.execPath, ['tools/generate-prisma.mjs'], { log }),
  },
  {
    name: 'api, worker and libraries',
    folders: ['shared', 'libs', 'apps/api', 'apps/worker', 'prisma/schema', 'prisma/demo'],
    files: ['tsconfig.json', 'tsconfig.base.json', 'package-lock.json'],
    made: 'apps/api/dist',
    build: (log) => run(process.execPath, ['node_modules/typescript7/bin/tsc', '-b'], { log }),
  },
  {
    name: 'each process in few files',
    folders: ['shared', 'libs', 'apps/api', 'apps/worker', 'prisma/schema'],
    files: ['tsconfig.json', 'tsconfig.base.json', 'package-lock.json', 'tools/put-together.mjs'],
    made: 'apps/worker/dist/whole',
    build: (log) => run(process.execPath, ['tools/put-together.mjs'], { log }),
  },
  {
    name: 'web pages',
    folders: ['apps/web', 'shared'],
    files: ['package-lock.json'],
    made: 'apps/web/dist',
    build: (log) => run(process.execPath, ['node_modules/vite/bin/vite.js', 'build', '--logLevel', 'warn', 'apps/web'], { log }),
  },
]

export async function buildIfNeeded(log) {
  for (const part of PARTS) {
    const built = readState('built.json')
    const hash = sourceHash(part.folders, part.files)
    if (built[part.name] === hash && existsSync(join(root, part.made))) continue
    const began = Date.now()
    log(`Building ${part.name} …`)
    await part.build(() => {})
    writeState('built.json', { ...readState('built.json'), [part.name]: hash })
    log(`Built ${part.name} (${((Date.now() - began) / 1000).toFixed(1)} s).`)
  }
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) {
  await ensurePackages(console.error)
  await buildIfNeeded(console.error)
}
