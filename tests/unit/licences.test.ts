/** What an installation brings stands under licences that permit it; a package that does not is found. */
import { describe, expect, it } from '@jest/globals'
import { readFileSync } from 'node:fs'
import { join } from 'node:path'

interface Lock {
  packages: Record<string, object>
}
const { readLicences } = (await import(join(import.meta.dirname, '../../tools/licences.mjs'))) as {
  readLicences: (lock: Lock) => { packages: { name: string; version: string; licence: string }[]; refused: string[] }
}

const lock = JSON.parse(readFileSync('package-lock.json', 'utf8')) as Lock
const withOne = (license: string | undefined, more: object = {}) =>
  readLicences({ packages: { 'node_modules/a/node_modules/planted': { version: '1.0.0', ...(license ? { license } : {}), ...more } } })

describe('licences', () => {
  it('permit what an installation brings', () => {
    const { packages, refused } = readLicences(lock)
    expect(packages.length).toBeGreaterThan(100)
    expect(refused).toEqual([])
  })

  it('refuse what is not permitted, or not stated', () => {
    expect(withOne('GPL-3.0-only').refused).toEqual(['planted 1.0.0: GPL-3.0-only'])
    expect(withOne('MIT AND AGPL-3.0-only').refused).toHaveLength(1)
    expect(withOne(undefined).refused).toEqual(['planted 1.0.0: not stated'])
  })

  it('take one side of a choice, and leave the tools of development out', () => {
    expect(withOne('(MIT OR GPL-2.0-only)').refused).toEqual([])
    expect(withOne('GPL-3.0-only', { dev: true })).toEqual({ packages: [], refused: [] })
  })
})
