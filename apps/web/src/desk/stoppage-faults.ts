/** What the server refused of a form: beside its field, and above in words. Pure. */
import { ApiProblem } from '../client/problems.js'

/** The message for a field by its pointer. */
export function faultAt(error: unknown, pointer: string): string | undefined {
  return error instanceof ApiProblem ? error.errors.find((one) => one.pointer === pointer)?.message : undefined
}

/** The same with the fields named as the form names them; a pointer that no field has stays as it is. */
export function inFormWords(error: unknown, names: Readonly<Record<string, string>>): unknown {
  if (!(error instanceof ApiProblem) || error.errors.length === 0 || error.code === 'CHANGED_MEANWHILE') return error
  const errors = error.errors.map(({ pointer, message }) => ({ pointer: `${nameOf(pointer, names)}:`, message }))
  return new ApiProblem(error.status, error.code, 'This was not written down yet; what you typed is still here.', errors)
}

function nameOf(pointer: string, names: Readonly<Record<string, string>>): string {
  const [, field = '', index, part] = pointer.split('/')
  const name = names[field] ?? field
  if (index === undefined) return name
  return `${name}, ${Number(index) + 1}${part === 'toAt' ? ', to' : part === 'fromAt' ? ', from' : ''}`
}
