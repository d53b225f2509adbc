/** R10: every phase of SMTP × every fault, through a real worker; each cell has its written outcome. */
import { type SmtpFault, SMTP_PHASES, type SmtpPhase } from '../support/smtp-sink.js'
import { type Ground, newOrganisation, startWorker } from './ground.js'
import { judge } from './judge.js'
import { type FaultResult, resultOf, type Scale } from './result.js'

type State = 'sent' | 'pending' | 'failed' | 'uncertain'
const FAULTS = ['4xx', '5xx', 'timeout', 'reset', 'slow'] as const

/** State of the message after its first attempt. Pending: known not delivered, to be tried again. */
const OUTCOMES: Readonly<Record<SmtpPhase, Readonly<Record<(typeof FAULTS)[number], State>>>> = {
  greeting: { '4xx': 'pending', '5xx': 'pending', timeout: 'pending', reset: 'pending', slow: 'sent' },
  ehlo: { '4xx': 'pending', '5xx': 'pending', timeout: 'pending', reset: 'pending', slow: 'sent' },
  mail: { '4xx': 'pending', '5xx': 'failed', timeout: 'pending', reset: 'pending', slow: 'sent' },
  rcpt: { '4xx': 'pending', '5xx': 'failed', timeout: 'pending', reset: 'pending', slow: 'sent' },
  data: { '4xx': 'pending', '5xx': 'failed', timeout: 'pending', reset: 'pending', slow: 'sent' },
  body: { '4xx': 'pending', '5xx': 'failed', timeout: 'uncertain', reset: 'uncertain', slow: 'sent' },
  dot: { '4xx': 'pending', '5xx': 'failed', timeout: 'uncertain', reset: 'uncertain', slow: 'sent' },
  rset: { '4xx': 'sent', '5xx': 'sent', timeout: 'sent', reset: 'sent', slow: 'sent' },
  quit: { '4xx': 'sent', '5xx': 'sent', timeout: 'sent', reset: 'sent', slow: 'sent' },
}

const ACCEPTED_UNTOLD: readonly SmtpFault[] = ['accept_then_reset', 'accept_then_silence']
let word = 0

/** Long enough for a busy machine; an idle one needs a second. */
const PATIENCE_SECONDS = 60

async function stateAfter(ground: Ground, organisationId: string): Promise<string> {
  const end = Date.now() + PATIENCE_SECONDS * 1000
  for (;;) {
    const [row] = await ground.database.withOrganisationSql(organisationId, (scope) =>
      scope.rows<{ state: string; attempts: number; last_error: string | null }>('SELECT state, attempts, last_error FROM message'),
    )
    if (row && (!['pending', 'claimed', 'handing_over'].includes(row.state) || (row.state === 'pending' && row.last_error !== null)))
      return row.state
    if (Date.now() > end) return `${row?.state ?? 'no message'} for ${PATIENCE_SECONDS} s`
    await new Promise((later) => setTimeout(later, 50))
  }
}

export async function smtpMatrix(ground: Ground, scale: Scale): Promise<FaultResult> {
  const times = scale === 'full' ? 20 : 1
  const cells: [SmtpPhase, SmtpFault, State][] = SMTP_PHASES.flatMap((phase) =>
    FAULTS.map((fault): [SmtpPhase, SmtpFault, State] => [phase, fault, OUTCOMES[phase][fault]]),
  )
  for (const fault of ACCEPTED_UNTOLD) cells.push(['dot', fault, 'uncertain'])
  const notes: string[] = []
  const organisations = []
  let [injected, uncertain] = [0, 0]
  const worker = startWorker(ground, { SWEEP_SECONDS: '0.3', SEND_LEASE_SECONDS: '20' })
  for (let time = 0; time < times; time++)
    for (const [phase, fault, wanted] of cells) {
      // A connection of its own for each cell, so that greeting and EHLO are in it.
      ground.sink.dropConnections()
      const organisation = await newOrganisation(ground, `x${(++word).toString(36)}${Date.now().toString(36).slice(-4)}`, {
        machines: 2,
        readers: 1,
      })
      ground.sink.fault = (at, to) => (at === phase && (to === '' || to === organisation.readers[0]?.email) ? fault : null)
      const state = await stateAfter(ground, organisation.organisationId)
      ground.sink.fault = () => null
      injected += 1
      if (state !== wanted) notes.push(`${fault} in ${phase}: ${state}, not ${wanted}`)
      if (wanted === 'uncertain') uncertain += 1
      if (wanted === 'sent' || wanted === 'uncertain') organisations.push(organisation)
      // What stays pending would be tried a minute later, in the middle of another cell.
      await ground.database.withOrganisationSql(organisation.organisationId, (scope) =>
        scope.run(`UPDATE message SET expires_at = send_after, state = 'expired' WHERE state = 'pending'`),
      )
    }
  await worker.kill('SIGTERM')
  const verdict = await judge(ground, organisations)
  if (verdict.uncertain < uncertain) notes.push(`only ${verdict.uncertain} of ${uncertain} are uncertain`)
  const what = `${SMTP_PHASES.length} phases × ${FAULTS.length} faults, and two that accept without saying so, × ${times}`
  const came = { id: 'R10', backend: ground.backend, what, injected, uncertainAllowed: uncertain, worstRecoverySeconds: 0, faults: notes }
  return resultOf(came, verdict)
}
