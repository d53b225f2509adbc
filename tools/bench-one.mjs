// One bench in a process of its own, so that none warms or burdens another. The last line printed is its result.
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { root } from './lib.mjs'

const { run } = await import(pathToFileURL(join(root, 'tests/bench/dist', `${process.argv[2]}.js`)).href)
console.log(JSON.stringify(await run({ sizes: [1000, 10_000] })))
process.exit(0)
