export * from './machine-review.js'
export * from './shift-hours.js'
