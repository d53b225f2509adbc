export { localOccurrences, recurrence, type Recurrence, type RecurrenceAsked } from './expand.js'
export { readRule } from './read-rule.js'
export type { RecurrenceRule } from './rule.js'
export { type LocalMoment, localOf, momentOf } from './stamp.js'
