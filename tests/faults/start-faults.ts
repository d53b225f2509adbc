/** R14: three apis and four workers start at the same moment on a database and a queue that none of them has met. */
import { type Ground, newOrganisation, nextWord, startApi, startWorker, untilReady, untilSettled } from './ground.js'
import { judge, sumOf, type Verdict } from './judge.js'
import { type FaultResult, resultOf, type Scale } from './result.js'
import { onFreshGround, sideBySide } from './side-by-side.js'

const [APIS, WORKERS] = [3, 4]

interface Start {
  seconds: number
  verdict: Verdict
  faults: string[]
}

async function startAll(ground: Ground): Promise<Start> {
  const faults: string[] = []
  const organisations = []
  for (const behind of [false, true]) {
    const organisation = await newOrganisation(ground, nextWord(ground), { machines: 4, readers: 20 })
    organisations.push(organisation)
    if (behind)
      await ground.database.withOrganisationSql(organisation.organisationId, (scope) =>
        scope.run('UPDATE warehouse SET evidence_version = 2'),
      )
  }
  const patient = { SEND_LEASE_SECONDS: '60', SMTP_SILENCE_SECONDS: '30' }
  const workers = Array.from({ length: WORKERS }, () => startWorker(ground, patient))
  const apis = await Promise.all(Array.from({ length: APIS }, () => startApi(ground)))
  await Promise.all(apis.map((api) => untilReady(api).catch((error: Error) => faults.push(error.message))))
  const seconds = await untilSettled(ground, organisations, 120).catch((error: Error) => (faults.push(error.message), 120))
  const all = [...workers, ...apis]
  const gone = all.filter(({ child }) => child.exitCode !== null || child.signalCode !== null).length
  if (gone > 0) faults.push(`${gone} of ${all.length} processes have ended`)
  await Promise.all(all.map((one) => one.kill('SIGTERM')))
  return { seconds, verdict: await judge(ground, organisations), faults }
}

export async function allAtOnce(ground: Ground, scale: Scale): Promise<FaultResult> {
  const times = scale === 'full' ? 100 : 1
  const starts: Start[] = await sideBySide(times, () => onFreshGround(ground.backend, startAll))
  const what = `${APIS} apis and ${WORKERS} workers start at once on a fresh database and queue`
  const worstRecoverySeconds = Math.max(...starts.map(({ seconds }) => seconds))
  const faults = starts.flatMap((one) => one.faults)
  return resultOf(
    { id: 'R14', backend: ground.backend, what, injected: times, uncertainAllowed: 0, worstRecoverySeconds, faults },
    sumOf(starts.map(({ verdict }) => verdict)),
  )
}
