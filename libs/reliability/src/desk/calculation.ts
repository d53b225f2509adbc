/** What the calculation desk offers: a name, what it expects, and the sum itself. */
import { z } from 'zod'
import { InvalidInput } from '../special/errors.js'
import { NoConvergence } from '../special/root.js'
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
      const result = namingFields(inputs, () => compute(parsed.data))
      refuseUnfit(result, 'the result')
      return result
    },
  }
}

/**
 * Inputs of wildly different size can leave a search without a root, or an inner function with an argument that is no
 * number. Whoever asked knows neither; what can be said to them is that the inputs are the cause.
 */
function namingFields<Result>(inputs: z.ZodType, compute: () => Result): Result {
  try {
    return compute()
  } catch (error) {
    const foreign = error instanceof InvalidInput && inputs instanceof z.ZodObject && !(topField(error.field) in inputs.shape)
    if (!foreign && !(error instanceof NoConvergence)) throw error
    throw new InvalidInput('inputs', 'hold a value too large, too small or too far from the others for this sum')
  }
}

const topField = (path: string): string => path.split(/[.[]/, 1)[0] as string

/** JSON would turn NaN and infinity into null without a word. */
function refuseUnfit(value: unknown, path: string): void {
  if (typeof value === 'number' && !Number.isFinite(value))
    throw new InvalidInput(path, 'is not a finite number: the inputs are too large, too small or contradict each other')
  if (Array.isArray(value)) value.forEach((entry, index) => refuseUnfit(entry, `${path}[${index}]`))
  else if (typeof value === 'object' && value !== null)
    for (const [key, entry] of Object.entries(value)) refuseUnfit(entry, path === 'the result' ? key : `${path}.${key}`)
}
