// `npm start -- --smoke`: the ring once, on fresh demo data in a folder of its own, each step with its figures.
import { randomUUID } from 'node:crypto'
import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { startAll } from './all.mjs'
import { ApiClient, until, workThrough } from './client.mjs'

const HOUR_MS = 3_600_000

/** A shift of the clock to the next Tuesday, 16:00 UTC: a working hour in two of the demo's warehouses, whatever the day is. */
function offsetToWorkingHour() {
  const now = new Date()
  const target = new Date(Date.UTC(now.getUTCFullYear(), now.getUTCMonth(), now.getUTCDate(), 16, 0, 0))
  target.setUTCDate(target.getUTCDate() + ((2 - target.getUTCDay() + 7) % 7 || 7))
  return Math.round((target.getTime() - now.getTime()) / 1000) * 1000
}

/** @returns the exit code */
export async function smoke({ settings, running, say }) {
  const dataDir = mkdtempSync(join(tmpdir(), 'tapewarden-smoke-'))
  const offsetMs = offsetToWorkingHour()
  let step = 0
  const tell = (line) => say(`${String(++step).padStart(2)}  ${line}`)
  running.add('folder', () => rmSync(dataDir, { recursive: true, force: true }))
  try {
    const started = await startAll({
      settings: { ...settings, port: settings.port },
      running,
      say,
      dataDir,
      demo: 'full',
      onEnd: (why) => say(why),
      extraEnv: { CLOCK_OFFSET: String(offsetMs) },
    })
    await turnRing(started, { tell, now: () => new Date(Date.now() + offsetMs) })
    say('The ring turned once: use became dates, dates a mail, the mail an order, the order a finding, the finding a better date.')
    return 0
  } catch (error) {
    say(`Failed after step ${step}: ${error.message}`)
    for (const name of ['api', 'worker']) say(lastLines(join(dataDir, 'logs', `${name}.log`), name))
    return 1
  }
}

function lastLines(path, name) {
  try {
    return `Last of the ${name} log:\n${readFileSync(path, 'utf8').split('\n').slice(-15).join('\n')}`
  } catch {
    return `There is no ${name} log.`
  }
}

async function turnRing({ urls, signIns }, { tell, now }) {
  const base = urls.desk.replace(/\/$/, '')
  const manager = new ApiClient(base)
  await manager.signIn(signIns.find(({ role }) => role === 'manager'))
  const warehouses = await planned(manager)
  tell(
    `Registered: ${warehouses.length} warehouses, ${warehouses.reduce((sum, { machineCount }) => sum + machineCount, 0)} machines in ${new Set(warehouses.map(({ zone }) => zone)).size} time zones.`,
  )

  const [counting] = (await manager.all('/api/v1/machines')).filter(
    (machine) => machine.status === 'in_service' && machine.machineType.counterKind === 'strips',
  )
  await giveEvidence(manager, counting, { tell, now })

  const coming = await manager.get('/api/v1/coming-up?weeks=8&limit=500')
  const dated = coming.items.filter(({ likelyOn }) => likelyOn !== null)
  tell(
    `Planned: ${coming.items.length} tasks fall due in eight weeks, ${dated.length} with a date; ${coming.items.filter(({ late }) => late).length} are late.`,
  )
  const ranged = dated.find(({ earlyOn, likelyOn, lateOn }) => earlyOn !== likelyOn && likelyOn !== lateOn)
  if (ranged) tell(`For example ${ranged.labelCode}, ${ranged.taskName}: ${ranged.why}`)

  await readMail(urls, tell)
  await workOneOrder(base, manager, signIns, { tell, now })
  await walkRound(manager, warehouses, { tell, now })
  await review(manager, tell, now)
}

/** Waits until every warehouse's dates rest on all its evidence. */
async function planned(manager) {
  return await until('the planning pass', 120, async () => {
    const { items } = await manager.get('/api/v1/warehouses')
    return items.length > 0 && items.every(({ upToDate }) => upToDate) ? items : null
  })
}

async function giveEvidence(manager, machine, { tell, now }) {
  const list = await manager.get(`/api/v1/evidence?machineId=${machine.id}&kind=counter_reading&state=counted&limit=200`)
  const latest = list.items.reduce((best, item) => (best === null || item.at > best.at ? item : best), null)
  const days = Math.max(1, Math.round((now() - new Date(latest.at)) / (24 * HOUR_MS)))
  const value = latest.amount + 600 * days
  const good = await manager.post('/api/v1/evidence', {
    kind: 'counter_reading',
    id: randomUUID(),
    machineId: machine.id,
    at: now().toISOString(),
    value,
  })
  if (good.outcome !== 'counted') throw new Error(`The counter reading of ${machine.labelCode} was not counted: ${good.reason}`)
  const bad = await manager.ask('POST', '/api/v1/evidence', {
    kind: 'counter_reading',
    id: randomUUID(),
    machineId: machine.id,
    at: new Date(now().getTime() + 72 * HOUR_MS).toISOString(),
    value: value + 10,
  })
  tell(
    `Evidence: ${machine.labelCode} counter at ${value} is counted; a reading three days ahead is ${bad.body.outcome ?? `refused (${bad.status})`}: ${bad.body.reason ?? bad.body.detail}`,
  )
  await planned(manager)
  const usage = await manager.get(`/api/v1/machines/${machine.id}/usage`)
  tell(`Ledger: ${machine.labelCode} has cut ${Math.round(usage.stripsTotal)} strips in the books.`)
}

async function readMail(urls, tell) {
  const { mails } = await until('a digest in the mailbox', 120, async () => {
    const list = await (await fetch(new URL('/messages', urls.mailbox))).json()
    const found = Array.isArray(list) ? list : (list.messages ?? list.items ?? [])
    return found.length > 0 ? { mails: found } : null
  })
  tell(`Mail: ${mails.length} in the mailbox; the first to ${JSON.stringify(mails[0].to)}: “${mails[0].subject}”.`)
}

async function workOneOrder(base, manager, signIns, { tell, now }) {
  const technician = new ApiClient(base)
  const me = await technician.signIn(signIns.find(({ role }) => role === 'technician'))
  const serves = new Set(me.warehouses.map(({ id }) => id))
  const drafted = (await manager.all('/api/v1/work-orders?state=drafted')).filter(
    ({ warehouse, skill }) => serves.has(warehouse.id) && skill === 'technician',
  )
  if (drafted.length === 0) throw new Error('No drafted work order for the technician.')
  const order = drafted.find(({ taskNames }) => taskNames.some((name) => /brush/i.test(name))) ?? drafted[0]
  const before = await manager.get(`/api/v1/machines/${order.machine.id}/forecasts`)
  await manager.post(`/api/v1/work-orders/${order.id}/issue`, { technicianId: me.person.id })
  tell(
    `Order ${order.number} for ${order.machine.labelCode}: ${order.taskNames.join(', ')}; ${order.minutesPlanned} minutes; issued to ${me.person.name}.`,
  )
  const sheet = await workThrough(technician, order, {
    at: () => now().toISOString(),
    measure: (measurement) => (measurement.planLimit ?? 10) + 1.1,
  })
  tell(`On site: ${sheet.tasks.length} tasks, ${sheet.entries.length} entries, state ${sheet.state}.`)
  await planned(manager)
  const after = await manager.get(`/api/v1/machines/${order.machine.id}/forecasts`)
  for (const task of sheet.tasks.slice(0, 2)) {
    const old = before.items.find(({ serviceTaskId }) => serviceTaskId === task.serviceTaskId)
    const fresh = after.items.find(({ serviceTaskId }) => serviceTaskId === task.serviceTaskId)
    if (fresh.likelyOn !== null && fresh.likelyOn === old?.likelyOn)
      throw new Error(`${task.name} on ${order.machine.labelCode} was done and its date did not move from ${old.likelyOn}.`)
    tell(`Next date of “${task.name}”: ${old?.likelyOn ?? 'none'} became ${fresh.likelyOn ?? 'none'}. ${fresh.why}`)
  }
}

async function walkRound(manager, warehouses, { tell, now }) {
  for (const { id, name, today } of warehouses) {
    const round = await manager.get(`/api/v1/rounds?warehouseId=${id}`)
    const line = round.lines.find(({ answer, mayDo, tasks }) => answer === null && mayDo && tasks.length > 0)
    if (!line) continue
    await manager.post('/api/v1/rounds/acknowledgements', {
      entryId: randomUUID(),
      warehouseId: id,
      month: today.slice(0, 7),
      statement: round.acknowledgement,
    })
    await manager.post('/api/v1/rounds/answers', {
      warehouseId: id,
      month: today.slice(0, 7),
      entryId: randomUUID(),
      machineId: line.machineId,
      outcome: 'done',
      madeAt: now().toISOString(),
    })
    const after = await manager.get(`/api/v1/rounds?warehouseId=${id}`)
    if (after.doneCount <= round.doneCount) throw new Error(`The round of ${name} did not keep the answer for ${line.labelCode}.`)
    return tell(`Round in ${name}: ${line.labelCode} done; ${after.doneCount} of ${after.lines.length} machines answered this month.`)
  }
  tell('Round: nothing is open in any warehouse this month.')
}

async function review(manager, tell, now) {
  const from = new Date(now().getTime() - 365 * 24 * HOUR_MS).toISOString().slice(0, 10)
  const answer = await manager.get(`/api/v1/review?from=${from}&to=${now().toISOString().slice(0, 10)}`)
  const [worst] = answer.machines
  if (!worst) throw new Error('The review names no machine.')
  tell(
    `Review: ${answer.totals.stoppages} stoppages in twelve months, ${answer.totals.unplanned} of them unplanned, ${answer.totals.hoursStopped.toFixed(1)} hours; the worst ${worst.labelCode} with ${worst.hoursStopped.toFixed(1)} hours in ${worst.stoppages}.`,
  )
}
