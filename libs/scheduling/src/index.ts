export * from './model.js'
export * from './time/day.js'
export * from './time/instant.js'
