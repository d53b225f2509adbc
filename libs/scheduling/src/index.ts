export * from './model.js'
