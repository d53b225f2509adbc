import { expect, it } from '@jest/globals'
import { readPages } from './pages.js'

/** A list of the numbers from 9 down to 0, three a page; the cursor is the number that it begins with. */
const asked: (string | undefined)[] = []
const list = async ({ cursor }: { cursor?: string }) => {
  asked.push(cursor)
  const first = cursor === undefined ? 9 : Number(cursor)
  const items = [first, first - 1, first - 2].filter((item) => item >= 0)
  return { items, nextCursor: first - 3 >= 0 ? String(first - 3) : null }
}

it('reads a list to its end', async () => {
  expect(await readPages(list)).toEqual([9, 8, 7, 6, 5, 4, 3, 2, 1, 0])
})

it('asks for no page after the first row that is not wanted', async () => {
  asked.length = 0
  expect(await readPages(list, (item) => item >= 5)).toEqual([9, 8, 7, 6, 5])
  expect(asked).toEqual([undefined, '6'])
})
