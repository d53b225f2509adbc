import { describe, expect, it } from '@jest/globals'
import { Batches } from './batches.js'

const soon = () => new Promise((next) => setTimeout(next, 5))

describe('work done in lots', () => {
  it('does together what comes together, each key apart, and answers each its own', async () => {
    const lots: string[] = []
    const batches = new Batches<number, number>(async (key, items) => {
      lots.push(`${key}:${items.join(',')}`)
      await soon()
      return items.map((item) => item * 10)
    }, 3)
    const early = [1, 2, 3, 4].map((item) => batches.add('a', item))
    const other = batches.add('b', 7)
    expect(await Promise.all([...early, other])).toEqual([10, 20, 30, 40, 70])
    expect(lots.sort()).toEqual(['a:1,2,3', 'a:4', 'b:7'])
    expect(await batches.add('a', 5)).toBe(50)
  })

  it('does each alone where one of them spoils the lot', async () => {
    const batches = new Batches<number, number>(async (_key, items) => {
      if (items.includes(2)) throw new Error('two')
      return items
    })
    const ends = await Promise.allSettled([1, 2, 3].map((item) => batches.add('a', item)))
    expect(ends.map(({ status }) => status)).toEqual(['fulfilled', 'rejected', 'fulfilled'])
  })

  it('fails all of them at once where the database is away', async () => {
    let tries = 0
    const batches = new Batches<number, number>(async () => {
      tries += 1
      throw Object.assign(new Error('connect'), { code: 'ECONNREFUSED' })
    })
    const ends = await Promise.allSettled([1, 2, 3].map((item) => batches.add('a', item)))
    expect([tries, ...ends.map(({ status }) => status)]).toEqual([1, 'rejected', 'rejected', 'rejected'])
  })
})
