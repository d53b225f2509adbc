// Runs a built entry (first argument) with the rest of the arguments, building first where needed.
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { buildIfNeeded } from './build.mjs'
import { ensurePackages, root } from './lib.mjs'

await ensurePackages(console.error)
await buildIfNeeded(console.error)
process.argv.splice(1, 1)
await import(pathToFileURL(join(root, process.argv[1])).href)
