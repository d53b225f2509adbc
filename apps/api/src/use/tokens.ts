/** Names under which Nest hands out what is not a class of ours. */
export const CLOCK = Symbol('clock')
export const SETTINGS = Symbol('settings')
export const PLANNING_REQUESTS = Symbol('planning requests')
