/** How a drill judges what was lost: by what was acknowledged and when, against what is there afterwards. */
import { describe, expect, it } from '@jest/globals'
import { join } from 'node:path'

interface Row {
  name: string
  askedAt: number
  acknowledgedAt: number
}
const { judgeLoss, judgeInstant, writeOn } = (await import(join(import.meta.dirname, '../../tools/drill/writer.mjs'))) as {
  judgeLoss: (rows: Row[], present: Set<string>, lostAt: number) => Record<string, number>
  judgeInstant: (rows: Row[], present: Set<string>, at: number) => Record<string, number>
  writeOn: (
    client: { post(path: string, body: { name: string }): Promise<unknown> },
    prefix: string,
  ) => { rows: Row[]; stop(): Promise<void> }
}
/** Ten rows, one a second, each acknowledged a tenth of a second after it was asked for. */
const rows: Row[] = Array.from({ length: 10 }, (_, n) => ({ name: `row ${n}`, askedAt: n * 1000, acknowledgedAt: n * 1000 + 100 }))
const upTo = (last: number) => new Set(rows.slice(0, last + 1).map(({ name }) => name))

describe('what a drill says was lost', () => {
  it('is nothing where everything is there', () => {
    expect(judgeLoss(rows, upTo(9), 10_000)).toEqual({
      acknowledged: 10,
      missing: 0,
      recoveryPointSeconds: 0,
      newestMissingSeconds: 0,
      gaps: 0,
    })
  })
  it('is counted from the oldest that is missing to the loss', () => {
    expect(judgeLoss(rows, upTo(6), 10_000)).toEqual({
      acknowledged: 10,
      missing: 3,
      recoveryPointSeconds: 2.9,
      newestMissingSeconds: 0.9,
      gaps: 0,
    })
  })
  it('has gaps where a later one is there', () => {
    const present = upTo(6)
    present.delete('row 2')
    expect(judgeLoss(rows, present, 10_000)).toMatchObject({ missing: 4, gaps: 1, recoveryPointSeconds: 7.9 })
  })
})

describe('what a drill says of a restore to an instant', () => {
  it('is exact where all before it are there and none after it', () => {
    expect(judgeInstant(rows, upTo(4), 4500)).toEqual({ before: 5, after: 5, missing: 0, tooMany: 0 })
  })
  it('leaves open what was on its way at that instant', () => {
    for (const last of [3, 4]) expect(judgeInstant(rows, upTo(last), 4050)).toEqual({ before: 4, after: 5, missing: 0, tooMany: 0 })
  })
  it('finds what is missing and what is too many', () => {
    expect(judgeInstant(rows, upTo(3), 4500)).toMatchObject({ missing: 1, tooMany: 0 })
    expect(judgeInstant(rows, upTo(6), 4500)).toMatchObject({ missing: 0, tooMany: 2 })
  })
})

describe('who writes on', () => {
  it('counts what was acknowledged alone, and tells of an error before the loss', async () => {
    const taken: string[] = []
    const good = writeOn({ post: async (_path, { name }) => void taken.push(name) }, 'Drill 1')
    await new Promise((later) => setTimeout(later, 600))
    await good.stop()
    expect(good.rows.map(({ name }) => name)).toEqual(taken)
    expect(taken[0]).toBe('Drill 1 000000')
    const bad = writeOn({ post: () => Promise.reject(new Error('refused')) }, 'Drill 1')
    await new Promise((later) => setTimeout(later, 50))
    expect(() => bad.stop()).toThrow('refused')
    expect(bad.rows).toEqual([])
  })
})
