/** Sentences from stored numbers. */
type Basis = Readonly<Record<string, unknown>>

export function whySentence(facts: {
  taskName: string
  governing: string | null
  state: string
  reason: string | null
  basis: Basis
}): string {
  if (facts.reason) return facts.reason
  return `${facts.taskName}: ${facts.governing ?? facts.state}.`
}
export function trustSentence(_facts: { state: string; earlyOn: string | null; lateOn: string | null; basis: Basis }): string {
  return ''
}
