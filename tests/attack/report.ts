/** Figures of an attack, for whoever started it by `npm run attack`. ATTACK_SCALE: small (in every test run) or full. */
import { appendFileSync } from 'node:fs'
import { join } from 'node:path'

export const FULL = process.env.ATTACK_SCALE === 'full'

export function scaled(small: number, full: number): number {
  return FULL ? full : small
}

export function report(id: string, what: string, figures: Record<string, number | string>): void {
  const folder = process.env.ATTACK_REPORT
  if (folder) appendFileSync(join(folder, 'results.jsonl'), `${JSON.stringify({ id, what, scale: FULL ? 'full' : 'small', ...figures })}\n`)
}
