/** Turns what a schema found wrong into one sentence that names the field and says why. */
import { z } from 'zod'
import { InvalidInput } from '../special/errors.js'

const KINDS: Record<string, string> = {
  number: 'a finite number',
  int: 'a whole number',
  string: 'a text',
  boolean: 'true or false',
  array: 'a list',
  object: 'an object',
  record: 'an object',
}

function describe(input: unknown): string {
  const text = JSON.stringify(input) ?? String(input)
  return text.length > 40 ? `${text.slice(0, 37)}…` : text
}

/** The phrase that follows the field's name. */
export function phraseIssue(issue: z.core.$ZodRawIssue): string {
  const seen = issue.input === undefined ? 'it is missing' : `it is ${describe(issue.input)}`
  switch (issue.code) {
    case 'invalid_type':
      return issue.input === undefined ? 'is missing' : `must be ${KINDS[issue.expected] ?? issue.expected}; ${seen}`
    case 'too_small':
      return sized(issue.origin, `${issue.inclusive ? 'at least' : 'above'} ${issue.minimum}`, seen)
    case 'too_big':
      return sized(issue.origin, `${issue.inclusive ? 'at most' : 'below'} ${issue.maximum}`, seen)
    case 'unrecognized_keys':
      return `is not known here: ${issue.keys.join(', ')}`
    case 'invalid_value':
      return `must be one of ${issue.values.map(String).join(', ')}; ${seen}`
    default:
      return issue.message ?? `does not fit; ${seen}`
  }
}

function sized(origin: string, bound: string, seen: string): string {
  if (origin === 'array') return `must have ${bound} entries`
  if (origin === 'string') return `must have ${bound} characters; ${seen}`
  return `must be ${bound}; ${seen}`
}

/** `['a', 0, 'b']` → `a[0].b` */
export function pathText(path: readonly PropertyKey[]): string {
  return path.reduce<string>(
    (text, part) => (typeof part === 'number' ? `${text}[${part}]` : text ? `${text}.${String(part)}` : String(part)),
    '',
  )
}

/** The first thing wrong, as an error; how many more there are is said at its end. */
export function explainIssues(issues: readonly z.core.$ZodIssue[]): InvalidInput {
  const first = issues[0]
  if (!first) return new InvalidInput('inputs', 'do not fit')
  const more = issues.length > 1 ? ` (and ${issues.length - 1} more)` : ''
  if (first.code === 'unrecognized_keys') {
    const field = pathText([...first.path, first.keys[0] ?? ''])
    return new InvalidInput(field, `is not a field of this calculation${more}`)
  }
  return new InvalidInput(pathText(first.path) || 'inputs', `${first.message}${more}`)
}
