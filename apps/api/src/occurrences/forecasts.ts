import type { Forecast, RouteResult, Routes } from '@tapewarden/shared'
import { placeOf } from '../use/reach.js'
import type { Reading } from '../use/work.js'
import { trustSentence, whySentence } from './explain.js'

type ForecastRow = Omit<Forecast, 'why' | 'trust'> & Record<string, unknown>

export async function machineForecasts(reading: Reading, machineId: string): Promise<RouteResult<Routes['machineForecasts']>> {
  await placeOf(reading, machineId)
  const rows = await reading.rows<ForecastRow>(
    `SELECT f.machine_id AS "machineId", f.service_task_id AS "serviceTaskId", f.plan_task_id AS "planTaskId", k.key AS "taskKey", pt.name AS "taskName",
       c.key AS "componentKey", pt.minutes, pt.skill, pt.reach, pt.safety_check AS "safetyCheck", f.state, f.early_on AS "earlyOn", f.likely_on AS "likelyOn",
       f.late_on AS "lateOn", f.no_later_than AS "noLaterThan", f.governing_trigger AS "governingTrigger", f.basis, f.reason, f.computed_on AS "computedOn",
       (SELECT max(r.done_on) FROM service_record r WHERE r.organisation_id = f.organisation_id AND r.machine_id = f.machine_id AND r.service_task_id = f.service_task_id) AS "lastDoneOn",
       (SELECT o.id FROM occurrence o WHERE o.organisation_id = f.organisation_id AND o.machine_id = f.machine_id AND o.service_task_id = f.service_task_id AND o.state = 'open') AS "openOccurrenceId"
     FROM forecast f JOIN plan_task pt ON pt.organisation_id = f.organisation_id AND pt.id = f.plan_task_id
     JOIN service_task k ON k.organisation_id = f.organisation_id AND k.id = f.service_task_id
     LEFT JOIN component_type c ON c.organisation_id = pt.organisation_id AND c.id = pt.component_type_id
     WHERE f.organisation_id = $1 AND f.machine_id = $2 ORDER BY f.likely_on NULLS LAST, pt.position`,
    [machineId],
  )
  return {
    items: rows.map((row) => ({
      ...row,
      why: whySentence({ ...row, governing: row.governingTrigger }, reading.who),
      trust: trustSentence({ ...row, governing: row.governingTrigger }),
    })),
  }
}
