import type { PassRequest, PassResult } from '@tapewarden/persistence/sql'
import type { RunPass } from '../parts.js'

/** A pass, told in a line; where it runs is the caller's. */
export function toldInALine(plan: (request: PassRequest) => Promise<PassResult>): RunPass {
  return async (request) => {
    const result = await plan(request)
    const problems = result.problems.length > 0 ? `, ${result.problems.length} that cannot be computed: ${result.problems[0]?.reason}` : ''
    return {
      summary: `${result.machines} machines, ${result.forecastsChanged} dates changed, ${result.opened} opened, ${result.reminders} reminders${problems}`,
    }
  }
}
