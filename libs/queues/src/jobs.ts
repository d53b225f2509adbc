/** Every job there is: its queue, what it carries (ids and a version, never data), how often it is tried. */
import { z } from 'zod'

const id = z.uuid()
const date = z.iso.date()
const version = z.literal(1)

export interface JobKind<Schema extends z.ZodType = z.ZodType> {
  queue: QueueName
  payload: Schema
  /** Tries by the queue itself; what still fails is brought back by the sweep over PostgreSQL. */
  attempts: number
  backoffMs: number
}

export const QUEUE_NAMES = ['planning', 'composing', 'sending', 'telling'] as const
export type QueueName = (typeof QUEUE_NAMES)[number]

export const JOBS = {
  /** Cuts a warehouse whose dates are behind its evidence, or behind the calendar, into chunks. */
  plan_warehouse: {
    queue: 'planning',
    payload: z.strictObject({ v: version, organisationId: id, warehouseId: id }),
    attempts: 4,
    backoffMs: 1000,
  },
  /** One chunk of machines of one pass; the pass is named by its day and the version of the evidence it read. */
  plan_chunk: {
    queue: 'planning',
    payload: z.strictObject({
      v: version,
      organisationId: id,
      warehouseId: id,
      plannedFor: date,
      evidenceVersion: z.number().int().min(0),
      position: z.number().int().min(0),
    }),
    attempts: 4,
    backoffMs: 1000,
  },
  /** Looks back, once a local day, how good the dates of a warehouse have been. */
  score_dates: {
    queue: 'planning',
    payload: z.strictObject({ v: version, organisationId: id, warehouseId: id }),
    attempts: 2,
    backoffMs: 5000,
  },
  /** Turns unsaid reminders of a warehouse into messages. */
  compose_messages: {
    queue: 'composing',
    payload: z.strictObject({ v: version, organisationId: id, warehouseId: id }),
    attempts: 4,
    backoffMs: 1000,
  },
  send_message: {
    queue: 'sending',
    payload: z.strictObject({ v: version, organisationId: id, messageId: id }),
    attempts: 2,
    backoffMs: 2000,
  },
  /** One telling of another program; a queue of its own, so that a slow one holds up no mail. */
  send_webhook: {
    queue: 'telling',
    payload: z.strictObject({ v: version, organisationId: id, deliveryId: id }),
    attempts: 2,
    backoffMs: 2000,
  },
} as const satisfies Record<string, JobKind>

export type JobName = keyof typeof JOBS
export type JobPayload<Name extends JobName> = z.infer<(typeof JOBS)[Name]['payload']>
export const JOB_NAMES = Object.keys(JOBS) as JobName[]

/** What a caller gives: the payload without its version. */
export type JobInput<Name extends JobName> = Omit<JobPayload<Name>, 'v'>

export function isJobName(text: string): text is JobName {
  return Object.hasOwn(JOBS, text)
}

/** @throws ZodError where a payload is not what the table says */
export function parsePayload<Name extends JobName>(name: Name, data: unknown): JobPayload<Name> {
  return JOBS[name].payload.parse(data) as JobPayload<Name>
}
