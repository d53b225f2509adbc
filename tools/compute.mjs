// The calculation desk: `npm run --silent compute -- --list`, `-- NAME < input.json`, `-- --lines < questions.jsonl`.
// Brings and builds what it needs first; only answers go to stdout.
import { existsSync } from 'node:fs'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { text } from 'node:stream/consumers'
import { pathToFileURL } from 'node:url'
import { ensurePackages, readState, refuseOldNode, root, run, sourceHash, writeState } from './lib.mjs'

const USAGE = 'Usage: npm run --silent compute -- --list | NAME < input.json | --lines < questions'
const ENTRY = join(root, 'libs', 'scheduling', 'dist', 'index.js')
const STATE = 'calculations.json'

async function buildWhenStale() {
  if (!existsSync(join(root, 'node_modules', '.package-lock.json'))) await ensurePackages(console.error)
  const hash = sourceHash(
    ['shared/src', 'libs/reliability/src', 'libs/scheduling/src'],
    ['tsconfig.base.json', 'shared/tsconfig.json', 'libs/reliability/tsconfig.json', 'libs/scheduling/tsconfig.json', 'package-lock.json'],
  )
  if (readState(STATE).hash === hash && existsSync(ENTRY)) return
  await run(process.execPath, ['node_modules/typescript7/bin/tsc', '-b', 'libs/scheduling'], { log: console.error })
  writeState(STATE, { hash })
}

/** Waits for a slow reader, so that a long run does not pile up in memory. */
function print(line) {
  if (process.stdout.write(`${line}\n`)) return undefined
  return new Promise((done) => process.stdout.once('drain', done))
}

function refuse(sentence) {
  console.error(sentence)
  process.exitCode = 2
}

async function answerLines({ answerLine }) {
  for await (const line of createInterface({ input: process.stdin, crlfDelay: Infinity }))
    if (line.trim() !== '') await print(JSON.stringify(answerLine(line)))
}

async function answerOne({ answerInputs, answerQuestion, calculations }, name) {
  const answer = calculations.has(name) ? answerInputs(name, await text(process.stdin)) : answerQuestion(name, null)
  return 'error' in answer ? refuse(answer.error) : print(JSON.stringify(answer.result, null, 2))
}

async function main([asked, ...rest]) {
  if (!asked || rest.length > 0) return refuse(USAGE)
  await buildWhenStale()
  const desk = await import(pathToFileURL(ENTRY).href)
  if (asked === '--lines') return answerLines(desk)
  if (asked !== '--list') return asked.startsWith('-') ? refuse(USAGE) : answerOne(desk, asked)
  const width = Math.max(...[...desk.calculations.keys()].map((name) => name.length))
  for (const { name, summary } of desk.calculations.values()) await print(`${name.padEnd(width)}  ${summary}`)
  return undefined
}

refuseOldNode()
process.stdout.on('error', (error) => process.exit(error.code === 'EPIPE' ? 0 : 1))
try {
  await main(process.argv.slice(2))
} catch (error) {
  console.error(error.message)
  process.exitCode = 1
}
