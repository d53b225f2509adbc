export * from './vocabulary.js'
