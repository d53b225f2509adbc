/** Words for what the books say of a machine: [value, words]. */
export const OWNERS = [
  ['own', 'own'],
  ['lent', 'lent'],
  ['leased', 'leased'],
] as const
export const MAY_OPEN = [
  ['our_technicians', 'our technicians'],
  ['service_firm_only', 'its service firm only'],
] as const
export const TAPES = [
  ['plain', 'plain'],
  ['reinforced', 'reinforced'],
] as const
