// `npm run licences`: under which licences the packages stand that an installation brings, and whether each may be used.
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { root } from './lib.mjs'

/** They permit use and passing on, changed or not; MPL and EPL ask for the source of changed files of theirs, and we change none. */
const PERMITTED = new Set(
  '0BSD Apache-2.0 BlueOak-1.0.0 BSD-2-Clause BSD-3-Clause BSL-1.0 CC0-1.0 EPL-2.0 ISC MIT MIT-0 MPL-2.0 Python-2.0 Unlicense Zlib'.split(
    ' ',
  ),
)
/** Packages that name theirs in words of their own; read by hand. */
const BY_HAND = {
  'dejavu-fonts-ttf': 'Bitstream-Vera',
  'incremental-encoder': 'MPL-2.0',
}

/** A small part of SPDX's expressions: AND binds closer than OR, no nesting. */
function isPermitted(expression) {
  const plain = expression.replaceAll(/[()]/g, '')
  return plain.split(/ OR /i).some((one) => one.split(/ AND /i).every((name) => PERMITTED.has(name.trim())))
}

const nameOf = (path) => path.slice(path.lastIndexOf('node_modules/') + 'node_modules/'.length)

/**
 * @param lock the parsed package-lock.json
 * @returns packages that an installation brings (no tools of development), oldest path first, and what may not be used
 */
export function readLicences(lock) {
  const packages = []
  const refused = []
  for (const [path, entry] of Object.entries(lock.packages)) {
    if (!path.includes('node_modules/') || entry.link || entry.dev) continue
    const name = nameOf(path)
    const licence = BY_HAND[name] ?? entry.license ?? 'not stated'
    packages.push({ name, version: entry.version, licence })
    if (!(name in BY_HAND) && !isPermitted(licence)) refused.push(`${name} ${entry.version}: ${licence}`)
  }
  return { packages, refused }
}

function print() {
  const { packages, refused } = readLicences(JSON.parse(readFileSync(join(root, 'package-lock.json'), 'utf8')))
  if (process.argv.includes('--json')) console.log(JSON.stringify(packages, null, 2))
  else {
    const counts = new Map()
    for (const { licence } of packages) counts.set(licence, (counts.get(licence) ?? 0) + 1)
    for (const [licence, count] of [...counts].sort(([, a], [, b]) => b - a)) console.log(`${String(count).padStart(4)}  ${licence}`)
    console.log(`${packages.length} packages; -- --json names each.`)
  }
  for (const line of refused) console.error(`Not permitted, or not stated: ${line}`)
  return refused.length === 0 ? 0 : 1
}

if (process.argv[1] === import.meta.filename) process.exit(print())
