/** Parts to order: told alone where nothing else is to be said, once a need, to one person; again where nobody knows. */
import { afterAll, beforeAll, beforeEach, describe, expect, it, jest } from '@jest/globals'
import { insertAllRows } from '@tapewarden/persistence'
import { newId } from '@tapewarden/platform'
import { simpleParser } from 'mailparser'
import { insertMailOrganisation, MAIL_NOW, type MailOrganisation } from '../../../../tests/support/mail-organisation.js'
import { openTestWorker, type TestWorker } from '../../../../tests/support/worker-parts.js'
import { settleRestored } from '../restoring/settle-restored.js'
import { send } from '../sending/send-message.js'
import { sweep } from '../sweep/sweep.js'
import { compose } from './compose-messages.js'

jest.setTimeout(60_000)

let worker: TestWorker
let ours: MailOrganisation
let partId: string
let number = 0

const sql = <Row extends Record<string, unknown>>(text: string, values: unknown[] = []) =>
  worker.parts.database.withOrganisationSql(ours.organisationId, (scope) => scope.rows<Row>(text, values as never))

/** A working day of March: its dates are computed, the sweep looks, and what it asks for is done. */
async function day(date: string): Promise<string[]> {
  worker.clock.set(new Date(`2026-03-${date}T10:00:00Z`))
  await sql(`UPDATE warehouse SET planned_on = $1`, [`2026-03-${date}`])
  const before = worker.sink.taken.length
  for (let round = 0; round < 2; round++) {
    worker.queue.jobs.length = 0
    await sweep(worker.parts)
    for (const { name } of worker.queue.jobs.splice(0))
      if (name === 'compose_messages') await compose(worker.parts, ours.organisationId, ours.warehouseId)
    for (const { id } of await sql<{ id: string }>(`SELECT id FROM message WHERE state = 'pending'`))
      await send(worker.parts, ours.organisationId, id)
  }
  return Promise.all(
    worker.sink.taken.slice(before).map(async ({ raw, to }) => `${to}: ${((await simpleParser(raw)).text ?? '').replace(/\s+/g, ' ')}`),
  )
}

beforeAll(async () => {
  worker = await openTestWorker()
})
afterAll(() => worker.close())
beforeEach(async () => {
  worker.clock.set(MAIL_NOW)
  worker.sink.taken.length = 0
  worker.sink.fault = () => null
  ours = await insertMailOrganisation(worker.parts.database, `p${++number}`, { machines: 2 })
  // Nothing else is to be said; each occurrence needs one part of which none is there, and which takes a fortnight.
  await sql(`UPDATE reminder SET dropped_reason = 'x'`)
  await sql(`UPDATE work_order SET state = 'cancelled' WHERE state = 'issued'`)
  await sql('UPDATE part SET component_type_id = NULL')
  await sql(`UPDATE forecast SET likely_on = '2027-03-01' WHERE state = 'dated'`)
  partId = newId()
  const [type] = await sql<{ id: string }>('SELECT machine_type_id AS id FROM machine LIMIT 1')
  const [component] = await sql<{ id: string; key: string }>('SELECT id, key FROM component_type ORDER BY key LIMIT 1')
  await sql(`UPDATE plan_task SET parts = $1`, [JSON.stringify([{ componentKey: component!.key, quantity: 1 }])])
  await sql(`UPDATE occurrence SET due_on = '2026-03-20' WHERE id = ANY($1::uuid[])`, [ours.occurrenceIds])
  await sql(
    `UPDATE occurrence SET state = 'done', done_on = '2026-03-01', ended_on = '2026-03-01' WHERE id <> ALL($1::uuid[]) AND state = 'open'`,
    [ours.occurrenceIds],
  )
  await worker.parts.database.withOrganisationSql(ours.organisationId, (scope) =>
    insertAllRows(scope, {
      part: [{ id: partId, name: 'Brush set', stock_code: 'N-7', component_type_id: component!.id }],
      part_fit: [{ part_id: partId, machine_type_id: type!.id }],
    }),
  )
})

const order = (pieces: number) =>
  sql(
    `INSERT INTO part_stock (organisation_id, part_id, warehouse_id, on_order) VALUES ($1, $2, $3, $4)
       ON CONFLICT (organisation_id, part_id, warehouse_id) DO UPDATE SET on_order = excluded.on_order`,
    [ours.organisationId, partId, ours.warehouseId, pieces],
  )

describe('parts to order, and nothing else', () => {
  it('are told to the first person named, once; not again while they wait; anew when a further need comes', async () => {
    const first = await day('03')
    expect(first).toEqual([
      expect.stringMatching(/^mara\..*: .*1 part to order by 6 March\..*2 × Brush set \(N-7\), to be ordered by 6 March\./),
    ])
    expect(await day('04')).toEqual([])
    await order(2)
    expect(await day('05')).toEqual([])
    await order(0)
    expect(await day('06')).toEqual([expect.stringContaining('Brush set')])
  })

  it('are not told where enough is on its way, nor a week before the order must be placed', async () => {
    await order(2)
    expect(await day('03')).toEqual([])
    await order(0)
    await sql(`UPDATE occurrence SET due_on = '2026-05-20' WHERE state = 'open'`)
    expect(await day('04')).toEqual([])
  })

  it('go to the second person where the first does without them or is away', async () => {
    await sql(`UPDATE person SET unwanted_kinds = ARRAY['parts'] WHERE id = $1`, [ours.managerId])
    expect(await day('03')).toEqual([expect.stringMatching(/^tom\./)])
  })

  it('wait for the person’s own day', async () => {
    // Thursday.
    await sql(`UPDATE person SET digest_weekday = 4 WHERE id = $1`, [ours.managerId])
    expect(await day('03')).toEqual([])
    expect(await day('04')).toEqual([])
    expect(await day('05')).toEqual([expect.stringMatching(/^mara\./)])
  })

  it('are told once more, as such, where the mail broke off; and free again where it was given up', async () => {
    worker.sink.fault = (phase) => (phase === 'dot' ? 'reset' : null)
    expect(await day('03')).toEqual([])
    expect(await sql(`SELECT state FROM message`)).toEqual([{ state: 'uncertain' }])
    worker.sink.fault = () => null
    expect(await day('04')).toEqual([expect.stringContaining('An earlier mail broke off while it was being handed over')])
    expect(await day('05')).toEqual([])

    await sql('UPDATE part_told SET message_id = NULL')
    worker.sink.fault = (phase) => (phase === 'rcpt' ? '4xx' : null)
    expect(await day('06')).toEqual([])
    worker.sink.fault = () => null
    expect(await day('10')).toEqual(expect.arrayContaining([expect.stringMatching(/^mara\..*Brush set/)]))
  })
})

describe('parts to order, after a restore', () => {
  it('are told once, as such: the mail about them may have gone out after the backup', async () => {
    await settleRestored(worker.parts)
    expect(await day('03')).toEqual([])
    expect(await day('04')).toEqual([expect.stringMatching(/^mara\..*An earlier mail broke off.*Brush set/)])
    expect(await day('05')).toEqual([])
  })
})

describe('a work order', () => {
  it('of which an uncertain mail may have told is told once more, as such', async () => {
    await order(2)
    const [machine] = await sql<{ id: string }>('SELECT machine_id AS id FROM occurrence WHERE id = $1', [ours.occurrenceIds[0]])
    await worker.parts.database.withOrganisationSql(ours.organisationId, (scope) =>
      insertAllRows(scope, {
        work_order: [
          {
            id: newId(),
            number: 912,
            machine_id: machine!.id,
            warehouse_id: ours.warehouseId,
            technician_id: ours.technicianId,
            state: 'issued',
            created_at: MAIL_NOW,
          },
        ],
      }),
    )
    worker.sink.fault = (phase) => (phase === 'dot' ? 'reset' : null)
    expect(await day('03')).toEqual([])
    worker.sink.fault = () => null
    const again = await day('04')
    expect(again).toEqual([expect.stringMatching(/^tom\..*You may have had this already.*work order 912/)])
    expect(await day('05')).toEqual([])
  })
})
