import type { RouteResult, Routes } from '@tapewarden/shared'

type Figures = Omit<RouteResult<Routes['health']>, 'wrong'>

/** From here on a clock is called wrong: assumption. Leases and days go by the database's clock, so that nothing depends on it. */
const CLOCK_WRONG_MS = 2000
const OLD_SECONDS = 120

const minutes = (seconds: number): string => {
  const whole = Math.max(1, Math.round(seconds / 60))
  return whole === 1 ? '1 minute' : `${whole} minutes`
}

/** What is wrong, each in one sentence with its number. Pure. */
export function wrongOf(figures: Figures): string[] {
  const found: string[] = []
  const fresh = figures.processes.filter(({ secondsAgo }) => secondsAgo <= OLD_SECONDS)
  // Apis are there as long as this page is; whether work is done, workers alone can tell.
  const workers = fresh.filter(({ queueAnswers }) => queueAnswers !== null)
  const last = figures.processes.find(({ queueAnswers }) => queueAnswers !== null)
  if (workers.length === 0)
    found.push(last ? `No worker has been heard of for ${minutes(last.secondsAgo)}.` : 'No worker has been heard of yet.')
  if (workers.length > 0 && !workers.some(({ queueAnswers }) => queueAnswers)) found.push('The queue does not answer the workers.')
  for (const { process, clockDifferenceMs } of fresh)
    if (Math.abs(clockDifferenceMs) > CLOCK_WRONG_MS)
      found.push(`The clock of ${process} differs from the database’s by ${Math.round(Math.abs(clockDifferenceMs) / 1000)} s.`)
  const due = figures.oldestPendingMessageSeconds
  if (due !== null && due > OLD_SECONDS) found.push(`The oldest mail that is due has waited ${minutes(due)}.`)
  const unsaid = figures.oldestUnsaidSeconds
  if (unsaid !== null && unsaid > OLD_SECONDS) found.push(`The oldest reminder that could be in a mail has waited ${minutes(unsaid)}.`)
  return found
}
