export * from './special/errors.js'
export * from './special/gamma.js'
export * from './special/normal.js'
