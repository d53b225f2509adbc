import type { Verdict } from './judge.js'

/** What one kind of fault came to. Zero lost and zero doubled is passing; uncertain ones are listed and bounded. */
export interface FaultResult {
  id: string
  backend: 'postgres' | 'redis'
  what: string
  injected: number
  reminders: number
  /** Writes that the api acknowledged and that are there; 0 where the kind writes none. */
  writes: number
  lost: number
  doubled: number
  uncertain: number
  /** Most uncertain messages that this many faults may leave: faults × messages in flight. */
  uncertainAllowed: number
  worstRecoverySeconds: number
  passed: boolean
  notes: string[]
}

export type Scale = 'small' | 'full'

export interface Came {
  id: string
  backend: FaultResult['backend']
  what: string
  injected: number
  uncertainAllowed: number
  worstRecoverySeconds: number
  writes?: number
  /** What went otherwise than it should, in words; any of them fails the kind. */
  faults?: readonly string[]
}

/** Puts the ledger's verdict and what the harness saw into one result. */
export function resultOf(came: Came, verdict: Verdict): FaultResult {
  const faults = came.faults ?? []
  const { id, backend, what, injected, uncertainAllowed } = came
  return {
    id,
    backend,
    what,
    injected,
    ...verdict,
    writes: came.writes ?? 0,
    uncertainAllowed,
    worstRecoverySeconds: Math.round(came.worstRecoverySeconds * 10) / 10,
    passed: verdict.lost === 0 && verdict.doubled === 0 && verdict.uncertain <= uncertainAllowed && faults.length === 0,
    notes: [...faults.slice(0, 20), ...verdict.notes],
  }
}
