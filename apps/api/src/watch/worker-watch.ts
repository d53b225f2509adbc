import { hostname } from 'node:os'
import { setTimeout as later } from 'node:timers/promises'
import { addressMail, isMailAddress, type Mailer, type MailToSend, renderNote } from '@tapewarden/messaging'
import { type Database, writeAlarms } from '@tapewarden/persistence'
import type { Clock, Logger } from '@tapewarden/platform'
import {
  ALARM_KEY,
  beat,
  endPendingAlarms,
  markAlarm,
  markAlarmHandingOver,
  type PendingAlarm,
  readPendingAlarms,
  readWaiting,
  type Waiting,
} from './alarm-rows.js'

export interface WatchParts {
  database: Database
  clock: Clock
  mailer: Mailer
  logger: Logger
  publicUrl: string
  mailFrom: string
  /** No worker heard of for so long is an alarm. */
  silenceSeconds: number
  /** How long an attempt may last at most; after it nobody knows what became of the mail. */
  leaseSeconds: number
}

/** Tells several apis apart, on one machine too. */
const OWN_NAME = `api ${hostname()} ${process.pid}`.slice(0, 200)
/** Looks so often that an alarm comes within two minutes. */
const LOOKS_A_SILENCE = 5
const LONGEST_PAUSE_SECONDS = 15

interface Alarming {
  mail: MailToSend
  id: string
  fencing: string
}

/**
 * The api's eye on the workers: where all of them are dead or stand still, none of them can say so. It reads what they
 * last said of themselves in PostgreSQL, and sends the alarm past the queue.
 */
export class WorkerWatch {
  private readonly stopping = new AbortController()
  private loop: Promise<void> = Promise.resolve()
  private readonly began: Promise<Date>

  constructor(private readonly parts: WatchParts) {
    this.began = parts.clock.now()
    this.began.catch(() => undefined)
  }

  start(): void {
    const pauseMs = Math.min(LONGEST_PAUSE_SECONDS, this.parts.silenceSeconds / LOOKS_A_SILENCE) * 1000
    this.loop = this.lookUntilStopped(pauseMs)
  }

  async stop(): Promise<void> {
    this.stopping.abort()
    await this.loop
  }

  private async lookUntilStopped(pauseMs: number): Promise<void> {
    const { signal } = this.stopping
    while (!signal.aborted) {
      await later(pauseMs, undefined, { signal }).catch(() => undefined)
      if (signal.aborted) return
      await this.look().catch((error: unknown) => this.parts.logger.warn({ err: error }, 'the workers could not be looked after'))
    }
  }

  /** @returns how many alarms the mail server took */
  async look(): Promise<number> {
    const { database, clock, silenceSeconds } = this.parts
    const began = await this.began
    const now = await clock.now()
    const before = Date.now()
    const theirs = (await database.askTime()).getTime()
    const clockDifferenceMs = (before + Date.now()) / 2 - theirs
    const waiting = new Map<string, Waiting>()
    for (const organisationId of await database.organisations())
      waiting.set(
        organisationId,
        await database.withOrganisationSql(organisationId, async (scope) => {
          await beat(scope, OWN_NAME, now, clockDifferenceMs)
          return readWaiting(scope, now)
        }),
      )
    // Workers speak in every organisation; one that is new has not been spoken in yet.
    const heard = [...waiting.values()].reduce<Date | null>(
      (last, { heardAt }) => (heardAt && (!last || heardAt > last) ? heardAt : last),
      null,
    )
    const since = heard && heard > began ? heard : began
    const seconds = Math.round((now.getTime() - since.getTime()) / 1000)
    const silent = seconds >= silenceSeconds
    let sent = 0
    for (const [organisationId, one] of waiting) {
      const silentSeconds = Math.max(seconds, heard ? Math.round((now.getTime() - heard.getTime()) / 1000) : 0)
      sent += silent ? await this.alarm(organisationId, one, heard, silentSeconds, now) : await this.calm(organisationId)
    }
    return sent
  }

  private async calm(organisationId: string): Promise<number> {
    await this.parts.database.withOrganisationSql(organisationId, endPendingAlarms)
    return 0
  }

  private async alarm(organisationId: string, waiting: Waiting, heard: Date | null, seconds: number, now: Date): Promise<number> {
    const { database, mailer, logger, leaseSeconds } = this.parts
    const { messages, reminders, alarmedLately } = waiting
    // Several apis look at once: the key is the same for all of them, and one row a person comes of it.
    const classKey = `${ALARM_KEY} ${heard?.toISOString() ?? 'never'}`
    const taken = await database.withOrganisationSql(organisationId, async (scope) => {
      if (!alarmedLately) await writeAlarms(scope, now, { classKey, facts: { kind: ALARM_KEY, messages, reminders, seconds } })
      const found: Alarming[] = []
      for (const alarm of await readPendingAlarms(scope, now)) {
        if (!isMailAddress(alarm.email)) continue
        const mail = this.letter(alarm)
        found.push({ id: alarm.id, mail, fencing: await markAlarmHandingOver(scope, alarm, mail.subject, now, leaseSeconds) })
      }
      return found
    })
    let sent = 0
    for (const { id, mail, fencing } of taken) {
      const outcome = await mailer.send(mail)
      await database.withOrganisationSql(organisationId, async (scope) =>
        markAlarm(scope, id, fencing, outcome, await this.parts.clock.now()),
      )
      logger.error({ organisationId, outcome: outcome.outcome, seconds }, 'no worker is heard of; an alarm was written')
      if (outcome.outcome === 'sent') sent += 1
    }
    return sent
  }

  private letter(alarm: PendingAlarm): MailToSend {
    const { publicUrl, mailFrom } = this.parts
    const { name, language, units, day, facts } = alarm
    const rendered = renderNote({
      person: { name, language, units },
      today: day,
      facts,
      healthUrl: `${publicUrl.replace(/\/$/, '')}/set-up/health`,
      deskUrl: `${publicUrl.replace(/\/$/, '')}/`,
    })
    return addressMail(rendered, { rowId: alarm.id, publicUrl, from: mailFrom, to: { name, address: alarm.email }, unsubscribeUrl: null })
  }
}
