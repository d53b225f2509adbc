import type { z } from 'zod'
import type { Fault } from './problem.js'

/** RFC 6901 for bodies; parameters are named by where they stand. */
function pointerOf(place: 'params' | 'query' | 'body', path: readonly PropertyKey[]): string {
  const steps = path.map((step) => String(step).replaceAll('~', '~0').replaceAll('/', '~1'))
  return (place === 'body' ? [''] : [place === 'query' ? 'query' : 'path']).concat(steps).join('/')
}

/** One line a fault; an unknown key is pointed at by its own name. */
export function faultsOf(place: 'params' | 'query' | 'body', error: z.ZodError): Fault[] {
  return error.issues.flatMap((issue) =>
    issue.code === 'unrecognized_keys'
      ? issue.keys.map((key) => ({ pointer: pointerOf(place, [...issue.path, key]), message: 'is not known here' }))
      : [{ pointer: pointerOf(place, issue.path), message: issue.message }],
  )
}
