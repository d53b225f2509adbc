export { answerInputs, answerLine, answerQuestion, type DeskAnswer } from './answer.js'
export { calculations } from './registry.js'
