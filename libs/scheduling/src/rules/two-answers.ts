/** Rule 14: two people, or two telephones, answer for the same occurrence. */
export interface Answer {
  outcome: 'done' | 'not_done'
  /** Measured values by key, mm. */
  measured?: Readonly<Record<string, number>>
  /** Findings in words, in any order. */
  findings?: readonly string[]
}

export type SecondAnswer = 'applied' | 'kept_as_evidence' | 'conflict'

const sameFindings = (first: Answer, second: Answer): boolean =>
  JSON.stringify([...(first.findings ?? [])].sort()) === JSON.stringify([...(second.findings ?? [])].sort())

function sameValues(first: Answer, second: Answer): boolean {
  const [a, b] = [first.measured ?? {}, second.measured ?? {}]
  return Object.keys(a).every((key) => b[key] === undefined || b[key] === a[key])
}

/**
 * What becomes of a second answer: 'done' outweighs 'not done'; a second 'done' is evidence and no conflict; only
 * differing measurements or findings of two that were done are shown as a conflict.
 */
export function judgeSecondAnswer(first: Answer, second: Answer): SecondAnswer {
  if (first.outcome === 'not_done') return 'applied'
  if (second.outcome === 'not_done') return 'kept_as_evidence'
  const silent = (second.findings ?? []).length === 0 || (first.findings ?? []).length === 0
  return sameValues(first, second) && (silent || sameFindings(first, second)) ? 'kept_as_evidence' : 'conflict'
}
