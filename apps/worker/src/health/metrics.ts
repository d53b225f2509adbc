import { collectDefaultMetrics, Gauge, Registry } from 'prom-client'
import type { Worker } from '../worker.js'
import { readQueueHealth } from './queue-health.js'

const MESSAGE_STATES = ['pending', 'claimed', 'handing_over', 'sent', 'uncertain', 'failed', 'expired']

function gauges(registry: Registry) {
  const gauge = <Label extends string = never>(name: string, help: string, labelNames: Label[] = []) =>
    new Gauge<Label>({ name: `tapewarden_${name}`, help, labelNames, registers: [registry] })
  return {
    oldestDue: gauge('oldest_due_message_seconds', 'Age of the oldest message that is due and not sent'),
    oldestUnsaid: gauge('oldest_unsaid_reminder_seconds', 'Working time for which a due reminder has been in no message'),
    unsaid: gauge('unsaid_reminders', 'Reminders due now and in no message'),
    behind: gauge('warehouses_behind', 'Warehouses whose dates are behind their evidence or their day'),
    messages: gauge('messages', 'Messages by state', ['state']),
    uncertain: gauge('uncertain_messages_open', 'Uncertain messages not yet told again'),
    jobs: gauge('queue_jobs', 'Jobs that the queue holds', ['queue', 'state']),
    sweepAge: gauge('seconds_since_sweep', 'Seconds since the last sweep of this process that ended well'),
    clock: gauge('clock_difference_seconds', 'This process’s clock less the database’s'),
  }
}

/** Reads everything anew at each request: figures of a queue that stands still must not stand still themselves. */
export function createMetrics(worker: Worker): { text(): Promise<string>; contentType: string } {
  const registry = new Registry()
  collectDefaultMetrics({ register: registry, prefix: 'tapewarden_' })
  const gauge = gauges(registry)
  const { database, clock, queue } = worker.parts
  return {
    contentType: registry.contentType,
    async text() {
      const [health, databaseTime, counts] = await Promise.all([
        clock.now().then((now) => readQueueHealth(database, now)),
        database.askTime().then((time) => (Date.now() - time.getTime()) / 1000),
        queue.counts().catch(() => null),
      ])
      gauge.oldestDue.set(health.oldestDueMessageSeconds)
      gauge.oldestUnsaid.set(health.oldestUnsaidSeconds)
      gauge.unsaid.set(health.unsaidReminders)
      gauge.behind.set(health.warehousesBehind)
      gauge.uncertain.set(health.uncertainOpen)
      for (const state of MESSAGE_STATES) gauge.messages.set({ state }, health.messagesByState[state] ?? 0)
      for (const [name, states] of Object.entries(counts ?? {}))
        for (const [state, count] of Object.entries(states)) gauge.jobs.set({ queue: name, state }, count)
      gauge.sweepAge.set(worker.secondsSinceSweep() ?? -1)
      gauge.clock.set(databaseTime)
      return registry.metrics()
    },
  }
}
