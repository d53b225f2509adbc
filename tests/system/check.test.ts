/** `npm run check` must fail when a rule is broken: each violation is planted in a copy of the sources. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { spawnSync } from 'node:child_process'
import { cpSync, mkdirSync, mkdtempSync, readdirSync, rmSync, symlinkSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'

let copy = ''
const PLANTED = 'libs/reliability/src/planted.ts'

function run(words: string[]): { status: number | null; said: string } {
  const { status, stdout, stderr } = spawnSync(process.execPath, words, {
    cwd: copy,
    encoding: 'utf8',
    env: { ...process.env, NODE_OPTIONS: '' },
  })
  return { status, said: stdout + stderr }
}

function plant(text: string): void {
  writeFileSync(join(copy, PLANTED), text)
}

/** Third-party packages from here, our own from the copy. */
function linkPackages(): void {
  const ours = join(copy, 'node_modules/@tapewarden')
  mkdirSync(ours, { recursive: true })
  for (const name of readdirSync('node_modules'))
    if (name !== '@tapewarden') symlinkSync(join(process.cwd(), 'node_modules', name), join(copy, 'node_modules', name))
  for (const name of readdirSync(join(copy, 'libs'))) symlinkSync(join(copy, 'libs', name), join(ours, name))
  symlinkSync(join(copy, 'shared'), join(ours, 'shared'))
}

const boundaries = (): { status: number | null; said: string } => run(['tools/check.mjs', '--boundaries', 'libs', 'shared'])
const content = expect.stringContaining(', 0 violations)')

beforeAll(() => {
  copy = mkdtempSync(join(tmpdir(), 'planted violations '))
  const skip = /(^|\/)(node_modules|dist|\.data|\.git)$|\.tsbuildinfo$/
  for (const name of [
    'tools',
    'libs',
    'shared',
    '.dependency-cruiser.mjs',
    '.oxlintrc.json',
    'tsconfig.base.json',
    'tsconfig.check.json',
    'package.json',
    'package-lock.json',
    'tests',
  ])
    cpSync(name, join(copy, name), { recursive: true, filter: (source) => !skip.test(source) })
  linkPackages()
})
afterAll(() => rmSync(copy, { recursive: true, force: true }))

describe('npm run check', () => {
  it('is content with the boundaries as they are', () => {
    plant('export {}\n')
    expect(boundaries()).toMatchObject({ status: 0, said: content })
  }, 120_000)

  it('refuses an arrow that points up', () => {
    plant("export * from '../../persistence/src/index.js'\n")
    const { status, said } = boundaries()
    expect(status).toBe(1)
    expect(said).toContain(`reliability-lowest: ${PLANTED}`)
  }, 120_000)

  it('refuses the file system in a pure library', () => {
    plant("import { readFileSync } from 'node:fs'\nexport const read = readFileSync\n")
    const { status, said } = boundaries()
    expect(status).toBe(1)
    expect(said).toContain(`pure-no-world: ${PLANTED}`)
  }, 120_000)

  it('refuses an import that cannot be found', () => {
    plant("export * from './nowhere.js'\n")
    expect(boundaries().said).toContain('no-unresolvable')
  }, 120_000)

  it('refuses a floating promise and an open switch', () => {
    plant(
      "export function go(kind: 'a' | 'b'): number {\n  Promise.resolve(1)\n  switch (kind) {\n    case 'a':\n      return 1\n  }\n  return 0\n}\n",
    )
    const { status, said } = run([
      'node_modules/oxlint/bin/oxlint',
      '--type-aware',
      '--tsconfig',
      'tsconfig.check.json',
      '--deny-warnings',
      PLANTED,
    ])
    expect(status).not.toBe(0)
    expect(said).toContain('no-floating-promises')
    expect(said).toContain('switch-exhaustiveness-check')
  }, 120_000)

  it('refuses a wrong type', () => {
    plant('export const count: number = "three"\n')
    const { status, said } = run(['node_modules/typescript7/bin/tsc', '-p', 'libs/reliability/tsconfig.json', '--noEmit'])
    expect(status).not.toBe(0)
    expect(said).toContain('planted.ts')
  }, 120_000)
})
