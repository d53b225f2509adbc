import { type Database, runPlanningPass } from '@tapewarden/persistence'
import type { RunPass } from '../parts.js'

/** The pass as it runs in production; tests of the handlers give one of their own. */
export function passOver(database: Database): RunPass {
  return async (request) => {
    const result = await runPlanningPass(database, request)
    const problems = result.problems.length > 0 ? `, ${result.problems.length} that cannot be computed: ${result.problems[0]?.reason}` : ''
    return {
      summary: `${result.machines} machines, ${result.forecastsChanged} dates changed, ${result.opened} opened, ${result.reminders} reminders${problems}`,
    }
  }
}
