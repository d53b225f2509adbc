/** Everything that the packer's page says, once a language. {name} stands for whoever looks after the machine. */
export const WRONG_KEYS = ['no_water', 'wrong_tape', 'jammed', 'cuts_badly', 'dead', 'smell_or_smoke'] as const
export type WrongKey = (typeof WRONG_KEYS)[number]
export const RUN_KEYS = ['all_day', 'some_hours', 'seldom', 'dont_know'] as const
export type RunKey = (typeof RUN_KEYS)[number]

export interface PackerWords {
  /** In itself, for the choice. */
  language: string
  safety: {
    doNotReachIn: string
    bladeCuts: string
    heaterBurns: string
    dryHands: string
    leaveOff: string
    smokeNamed: string
    smoke: string
  }
  beforeAll: string
  noHands: string
  whatIsWrong: string
  somethingElse: string
  wrong: Record<WrongKey | 'other', string>
  reported: string
  reportedThanks: string
  findsIt: string
  /** Planned work: the machine stands open, or will. */
  workedOn: string
  worksAgain: string
  worksAgainThanks: string
  howMuch: string
  runs: Record<RunKey, string>
  thanks: string
  counterShows: string
  send: string
  counterThanks: string
  iWorkOnIt: string
  oldLabel: string
  notSent: string
  tooMany: string
  loading: string
}
