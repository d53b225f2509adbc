/** First words of the addresses after `#/`; pages.tsx has a page for each, and the sweep of the tests opens each. */
export const HAND_PLACES = ['', 'order', 'round', 'visit', 'stand', 'machine', 'code', 'shared-tablet'] as const
export type HandPlace = (typeof HAND_PLACES)[number]
