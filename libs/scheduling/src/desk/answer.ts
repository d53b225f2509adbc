/** Answers one question of the calculation desk. */
import { InvalidInput } from '@tapewarden/reliability'
import { readJson } from './read-json.js'
import { calculations } from './registry.js'

export type DeskAnswer = { result: unknown } | { error: string }

/** Bad input becomes a sentence naming the field and why; a broken sum is thrown on. */
export function answerQuestion(name: unknown, inputs: unknown): DeskAnswer {
  if (typeof name !== 'string') return { error: 'name: must be the name of a calculation' }
  const calculation = calculations.get(name)
  if (!calculation) return { error: `${name}: there is no calculation of this name; --list names them all` }
  try {
    return { result: calculation.answer(inputs) }
  } catch (error) {
    if (error instanceof InvalidInput) return { error: `${name}: ${error.message}` }
    throw error
  }
}

const onlyNumbers = (answer: DeskAnswer, name: unknown, notNumbers: boolean): DeskAnswer =>
  notNumbers && 'result' in answer ? { error: `${String(name)}: inputs must hold neither NaN nor infinity` } : answer

/** The inputs as JSON text. */
export function answerInputs(name: string, text: string): DeskAnswer {
  const read = readJson(text)
  if ('problem' in read) return { error: `${name}: inputs are not JSON (${read.problem})` }
  return onlyNumbers(answerQuestion(name, read.value), name, read.notNumbers)
}

/** One line `{"name", "inputs"}` in, one object `{"name", "result"}` or `{"name", "error"}` out. */
export function answerLine(line: string): { name: string | null } & DeskAnswer {
  const read = readJson(line)
  if ('problem' in read) return { name: null, error: `line: is not JSON (${read.problem})` }
  const question = read.value
  if (typeof question !== 'object' || question === null || Array.isArray(question))
    return { name: null, error: 'line: must be an object with name and inputs' }
  const { name, inputs } = question as { name?: unknown; inputs?: unknown }
  const label = typeof name === 'string' ? name : null
  try {
    return { name: label, ...onlyNumbers(answerQuestion(name, inputs), name, read.notNumbers) }
  } catch (error) {
    return { name: label, error: `${String(name)}: failed: ${(error as Error).message}` }
  }
}
