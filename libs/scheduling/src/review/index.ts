export * from './advise.js'
