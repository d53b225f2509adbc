import { expect, it } from '@jest/globals'
import { csvRows } from './csv.js'

async function* bytesOf(text: string, size: number): AsyncGenerator<Uint8Array> {
  const bytes = Buffer.from(text)
  for (let at = 0; at < bytes.length; at += size) yield bytes.subarray(at, at + size)
}

it.each([1, 3, 1000])('counts lines as an editor does: blank ones, and those inside a cell; pieces of %i bytes', async (size) => {
  const text = ['\r\na,b', '1,"x\r\ny"', '', '', '2,"p\nq\nr"', '"3\rä",', 'last'].join('\r\n')
  const rows: [number, string[]][] = []
  for await (const { line, cells } of csvRows(bytesOf(text, size))) rows.push([line, cells])
  expect(rows).toEqual([
    [2, ['a', 'b']],
    [4, ['1', 'x\r\ny']],
    [9, ['2', 'p\nq\nr']],
    [11, ['3\rä', '']],
    [12, ['last']],
  ])
})
