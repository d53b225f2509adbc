/**
 * Composing and writing the digests of a fleet against the planning pass that asked for them. Goal: at most a tenth, on the
 * fullest ordinary day, the month's first, with every felt of the warehouse on its list. Beside it, without a goal, a fleet
 * of which everything falls due on one day.
 */
import { renderMail } from '@tapewarden/messaging'
import { runPlanningPass } from '@tapewarden/persistence'
import { type BenchResult, summarise } from './result.js'
import { addReadings, makeFleet } from './support-fleet.js'
import { elapsedMs, imported, partsFor, type SendParts } from './support-mail.js'
import { startBenchServer } from './support-server.js'

const REPETITIONS = 5

interface Composing {
  compose(parts: SendParts, organisationId: string, warehouseId: string): Promise<{ messageIds: string[]; reminders: number; why: string }>
}
interface Claiming {
  claimMessages(scope: unknown, ids: readonly string[], now: Date, leaseSeconds: number): Promise<unknown[]>
}
interface Loading {
  loadMails(
    scope: unknown,
    messages: unknown[],
    settings: unknown,
    now: Date,
  ): Promise<({ input: Parameters<typeof renderMail>[0] } | string)[]>
}

function dayAfter(date: string, days: number): string {
  return new Date(Date.parse(`${date}T00:00:00Z`) + days * 86_400_000).toISOString().slice(0, 10)
}

const DAYS = {
  'first day of a month': { goal: 0.1, tasks: ['oil_blade_felt'] },
  'everything due at once': { goal: null, tasks: null },
} as const

async function measure(size: number, day: keyof typeof DAYS): Promise<BenchResult> {
  const server = await startBenchServer()
  try {
    const { compose } = await imported<Composing>('apps/worker/dist/composing/compose-messages.js')
    const { claimMessages } = await imported<Claiming>('apps/worker/dist/sending/claim.js')
    const { loadMails } = await imported<Loading>('apps/worker/dist/sending/load-mail.js')
    const fleet = await makeFleet(server.owner, size)
    await server.owner.query(`UPDATE person SET email = lower(name) || '@care.example'`)
    const ratios: number[] = []
    let note = ''
    for (let round = 0; round <= REPETITIONS; round++) {
      // The bench's days run on; a working day is asked for, so each is called one.
      const today = dayAfter(fleet.today, 1 + round)
      await server.owner.query(`DELETE FROM shift`)
      const now = new Date(`${today}T10:00:00Z`)
      for (const table of ['work_order_task', 'work_order', 'reminder', 'message', 'occurrence'])
        await server.owner.query(`DELETE FROM ${table}`)
      await server.owner.query(`UPDATE forecast SET reason = 'stale'`)
      await server.owner.query(`UPDATE planning_state SET forecast_digest = ''`)
      await addReadings(server.owner, fleet, dayAfter(today, -1), 1)
      await server.owner.query(`INSERT INTO shift SELECT $1, uuidv7(), $2, d, '06:00', '23:00' FROM generate_series(1, 7) d`, [
        fleet.organisationId,
        fleet.warehouseId,
      ])
      const passMs = await elapsedMs(() => runPlanningPass(server.database, { ...fleet, today, now }))
      const { tasks } = DAYS[day]
      if (tasks)
        await server.owner.query(
          `DELETE FROM reminder r USING occurrence o, service_task t WHERE o.id = r.occurrence_id AND t.id = o.service_task_id AND t.key <> ALL ($1::text[])`,
          [tasks],
        )
      // What autovacuum does within a minute of a first pass; the bench's tables were emptied a moment ago.
      await server.owner.query('ANALYZE reminder, occurrence, forecast, message')
      const parts = partsFor(server.database, 'smtp://127.0.0.1:1', now)
      let reminders = 0
      let mails = 0
      const mailMs = await elapsedMs(async () => {
        const composed = await compose(parts, fleet.organisationId, fleet.warehouseId)
        reminders = composed.reminders
        await server.database.withOrganisationSql(fleet.organisationId, async (scope) => {
          const claimed = await claimMessages(scope, composed.messageIds, now, 180)
          for (const mail of await loadMails(scope, claimed, parts.settings, now)) {
            if (typeof mail === 'string') throw new Error(mail)
            renderMail(mail.input)
            mails += 1
          }
        })
      })
      parts.mailer.close()
      if (mails === 0) throw new Error('no message was composed')
      if (round > 0) ratios.push(mailMs / passMs)
      note = `pass ${passMs.toFixed(0)} ms; ${reminders} reminders in ${mails} mails, composed, read and written in ${mailMs.toFixed(0)} ms (last repetition)`
    }
    return summarise(`digests of ${size} machines against their pass, ${day}`, ratios, DAYS[day].goal, note)
  } finally {
    await server.stop()
  }
}

export async function run({ sizes }: { sizes: number[] }): Promise<BenchResult[]> {
  const results: BenchResult[] = []
  for (const size of sizes) for (const day of Object.keys(DAYS) as (keyof typeof DAYS)[]) results.push(await measure(size, day))
  return results
}
