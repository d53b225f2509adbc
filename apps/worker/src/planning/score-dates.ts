import { scoreDates as lookBack } from '@tapewarden/persistence/sql'
import type { JobHandler } from '@tapewarden/queues'
import { instantToLocalDate } from '@tapewarden/scheduling'
import type { WorkerParts } from '../parts.js'

/** How good the dates of a warehouse have been, once its pass of the day is through. */
export function scoreDates({ database, clock }: WorkerParts): JobHandler<'score_dates'> {
  return {
    name: 'score_dates',
    async handle({ organisationId, warehouseId }) {
      const zone = await database.withOrganisationSql(organisationId, async (scope) => {
        const rows = await scope.rows<{ zone: string }>('SELECT zone FROM warehouse WHERE organisation_id = $1 AND id = $2', [
          organisationId,
          warehouseId,
        ])
        return rows[0]?.zone
      })
      if (zone === undefined) return 'gone'
      const today = instantToLocalDate(zone, (await clock.now()).getTime())
      const night = await lookBack(database, { organisationId, warehouseId, today })
      if (typeof night === 'string') return night
      return `${night.scored} dates looked back on, ${night.withoutForecast} without a forecast, ${night.removed} removed`
    },
  }
}
