export * from './vocabulary.js'
export * from './contract/index.js'
