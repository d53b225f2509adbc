/** What one kind of fault came to. Zero lost and zero doubled is passing; uncertain ones are listed and bounded. */
export interface FaultResult {
  id: string
  backend: 'postgres' | 'redis'
  what: string
  injected: number
  reminders: number
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
