/** What the calculation desk offers: a name, what it expects, and the sum itself. */
import { z } from 'zod'
import { InvalidInput } from '../special/errors.js'
import { explainIssues, phraseIssue } from './explain.js'

export interface Calculation {
  readonly name: string
  /** One line for the list. */
  readonly summary: string
  readonly inputs: z.ZodType
  /** @throws InvalidInput naming the field, for inputs that do not fit the schema or the sum. */
  answer(rawInputs: unknown): unknown
}

/** Ties a schema and a typed sum together, so that the sum only ever sees checked inputs. */
export function defineCalculation<Schema extends z.ZodType>(definition: {
  name: string
  summary: string
  inputs: Schema
  compute: (inputs: z.output<Schema>) => unknown
}): Calculation {
  const { name, summary, inputs, compute } = definition
  return {
    name,
    summary,
    inputs,
    answer(rawInputs) {
      const parsed = inputs.safeParse(rawInputs, { error: phraseIssue })
      if (!parsed.success) throw explainIssues(parsed.error.issues)
      const result = compute(parsed.data)
      refuseUnfit(result, 'the result')
      return result
    },
  }
}

/** JSON would turn NaN and infinity into null without a word. */
function refuseUnfit(value: unknown, path: string): void {
  if (typeof value === 'number' && !Number.isFinite(value))
    throw new InvalidInput(path, 'is not a finite number: the inputs are too large, too small or contradict each other')
  if (Array.isArray(value)) value.forEach((entry, index) => refuseUnfit(entry, `${path}[${index}]`))
  else if (typeof value === 'object' && value !== null)
    for (const [key, entry] of Object.entries(value)) refuseUnfit(entry, path === 'the result' ? key : `${path}.${key}`)
}
