/** R10: every phase of SMTP × every fault, through a real worker; each cell has its written outcome. */
import { type SmtpFault, SMTP_PHASES, type SmtpPhase } from '../support/smtp-sink.js'
import { type Ground, newOrganisation, nextWord, startWorker } from './ground.js'
import { judge, sumOf, type Verdict } from './judge.js'
import { type FaultResult, resultOf, type Scale } from './result.js'
import { onFreshGround, sideBySide } from './side-by-side.js'

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

type Cell = readonly [SmtpPhase, SmtpFault, State]
const CELLS: readonly Cell[] = [
  ...SMTP_PHASES.flatMap((phase) => FAULTS.map((fault): Cell => [phase, fault, OUTCOMES[phase][fault]])),
  ...ACCEPTED_UNTOLD.map((fault): Cell => ['dot', fault, 'uncertain']),
]

interface Round {
  verdict: Verdict
  notes: string[]
}

/** Every cell once, with a worker of its own. */
async function everyCell(ground: Ground): Promise<Round> {
  const notes: string[] = []
  const organisations = []
  const worker = startWorker(ground, { SWEEP_SECONDS: '0.3', SEND_LEASE_SECONDS: '20' })
  for (const [phase, fault, wanted] of CELLS) {
    // A connection of its own for each cell, so that greeting and EHLO are in it.
    ground.sink.dropConnections()
    const organisation = await newOrganisation(ground, nextWord(ground), { machines: 2, readers: 1 })
    ground.sink.fault = (at, to) => (at === phase && (to === '' || to === organisation.readers[0]?.email) ? fault : null)
    const state = await stateAfter(ground, organisation.organisationId)
    ground.sink.fault = () => null
    if (state !== wanted) notes.push(`${fault} in ${phase}: ${state}, not ${wanted}`)
    if (wanted === 'sent' || wanted === 'uncertain') organisations.push(organisation)
    // What stays pending would be tried a minute later, in the middle of another cell.
    await ground.database.withOrganisationSql(organisation.organisationId, (scope) =>
      scope.run(`UPDATE message SET expires_at = send_after, state = 'expired' WHERE state = 'pending'`),
    )
  }
  await worker.kill('SIGTERM')
  return { verdict: await judge(ground, organisations), notes }
}

const ROUNDS = 20

export async function smtpMatrix(ground: Ground, scale: Scale): Promise<FaultResult> {
  const rounds = scale === 'full' ? await sideBySide(ROUNDS, () => onFreshGround(ground.backend, everyCell)) : [await everyCell(ground)]
  const verdict = sumOf(rounds.map((round) => round.verdict))
  const uncertain = CELLS.filter(([, , wanted]) => wanted === 'uncertain').length * rounds.length
  const faults = rounds.flatMap((round) => round.notes)
  if (verdict.uncertain < uncertain) faults.push(`only ${verdict.uncertain} of ${uncertain} are uncertain`)
  const what = `${SMTP_PHASES.length} phases × ${FAULTS.length} faults, and two that accept without saying so, × ${rounds.length}`
  const injected = CELLS.length * rounds.length
  const came = { id: 'R10', backend: ground.backend, what, injected, uncertainAllowed: uncertain, worstRecoverySeconds: 0, faults }
  return resultOf(came, verdict)
}
