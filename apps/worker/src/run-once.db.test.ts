import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals'
import { runPlanningPass } from '@tapewarden/persistence'
import { insertMailOrganisation, MAIL_TODAY, type MailOrganisation } from '../../../tests/support/mail-organisation.js'
import { openTestWorker, type TestWorker } from '../../../tests/support/worker-parts.js'
import { toldInALine } from './planning/run-pass.js'
import { runOnce } from './run-once.js'

// A busy machine takes ten times as long.
jest.setTimeout(60_000)

let worker: TestWorker
let ours: MailOrganisation

beforeAll(async () => {
  worker = await openTestWorker()
  ours = await insertMailOrganisation(worker.parts.database, 'once', { machines: 3 })
  worker.parts.runPass = toldInALine((request) => runPlanningPass(worker.parts.database, request))
})
afterAll(() => worker.close())

const sql = <Row extends Record<string, unknown>>(text: string) =>
  worker.parts.database.withOrganisationSql(ours.organisationId, (scope) => scope.rows<Row>(text))

describe('one turn by hand', () => {
  it('runs the real pass, composes, sends and settles; a second turn does nothing', async () => {
    await sql('UPDATE warehouse SET evidence_version = 2')
    const [planned] = await runOnce(worker.parts, { step: 'plan' })
    expect(planned).toMatchObject({
      step: 'plan',
      subject: ours.warehouseId,
      outcome: expect.stringMatching(/^cut: 1 chunks; pass ended: 4 machines, /),
    })
    expect(await sql('SELECT planned_version AS version, planned_on AS day FROM warehouse')).toEqual([{ version: 2, day: MAIL_TODAY }])
    expect((await runOnce(worker.parts, { step: 'compose' })).map(({ outcome }) => outcome)).toEqual(['composed'])
    const sent = await runOnce(worker.parts, { step: 'send' })
    expect(sent.length).toBeGreaterThan(0)
    expect(new Set(sent.map(({ outcome }) => outcome))).toEqual(new Set(['sent']))
    expect(worker.sink.taken).toHaveLength(sent.length)
    expect((await runOnce(worker.parts, { step: 'settle' })).map(({ outcome }) => outcome)).toEqual(['0 uncertain, 0 free again, 0 ended'])
    expect((await runOnce(worker.parts, { step: 'plan' })).map(({ outcome }) => outcome)).toEqual(['nothing changed'])
    expect(await runOnce(worker.parts, { step: 'send' })).toEqual([])
  })
})
