/** The whole drill on a small scale: filled, backed up, written to, killed, brought back twice. */
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { expect, it } from '@jest/globals'

interface Drilled {
  prepared: { rows: number; mails: number }
  drills: {
    rows: number
    acknowledged: number
    missing: number
    gaps: number
    recoveryPointSeconds: number
    recoveryTimeSeconds: number
    instant: { before: number; after: number; missing: number; tooMany: number }
    sentAgain: number
  }[]
}

it('a drill loses at most what was not archived yet, comes back, holds an instant exactly and sends no mail again', async () => {
  const { drill } = (await import(pathToFileURL(join(process.cwd(), 'tools/drill.mjs')).href)) as {
    drill: (asked: object) => Promise<Drilled>
  }
  const { prepared, drills } = await drill({ rows: 3000, times: 1, writeSeconds: [12], say: () => undefined })
  expect(prepared.rows).toBeGreaterThan(3000)
  expect(prepared.mails).toBeGreaterThan(0)
  const [only] = drills
  if (!only) throw new Error('there was no drill')
  expect(only.rows).toBeGreaterThanOrEqual(prepared.rows)
  expect(only.acknowledged).toBeGreaterThan(12)
  // Written for 12 s: the archive takes its file every 240 s at the latest.
  expect(only.recoveryPointSeconds).toBeLessThan(30)
  expect(only.recoveryTimeSeconds).toBeGreaterThan(0)
  expect(only.instant.before).toBeGreaterThan(5)
  expect(only.instant.after).toBeGreaterThan(5)
  expect({ gaps: only.gaps, missing: only.instant.missing, tooMany: only.instant.tooMany, sentAgain: only.sentAgain }).toEqual({
    gaps: 0,
    missing: 0,
    tooMany: 0,
    sentAgain: 0,
  })
}, 900_000)
