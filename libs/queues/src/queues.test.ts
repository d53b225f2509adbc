import { describe, expect, it } from '@jest/globals'
import { type AnyHandler, checkHandlers, HandlersError } from './consumers.js'
import { jobId } from './job-queue.js'
import { JOB_NAMES, parsePayload } from './jobs.js'
import { QueuedPlanningRequests } from './planning-requests.js'

const handler = (name: string) => ({ name, handle: async () => 'done' }) as unknown as AnyHandler

describe('the table of jobs', () => {
  it('refuses to start where a handler is missing, given twice, or for no job', () => {
    const all = JOB_NAMES.map(handler)
    expect(checkHandlers(all).size).toBe(JOB_NAMES.length)
    expect(() => checkHandlers(all.slice(1))).toThrow(`${JOB_NAMES[0]} has no handler`)
    expect(() => checkHandlers([...all, handler('send_message')])).toThrow('send_message has two handlers')
    expect(() => checkHandlers([...all, handler('bake')])).toThrow(HandlersError)
  })

  it('takes ids and a version, never data', () => {
    const id = '01a21401-639f-74d9-af70-24f6e7613671'
    expect(parsePayload('send_message', { v: 1, organisationId: id, messageId: id })).toEqual({ v: 1, organisationId: id, messageId: id })
    for (const bad of [
      {},
      { v: 2, organisationId: id, messageId: id },
      { v: 1, organisationId: id, messageId: id, subject: 'x' },
      { v: 1, organisationId: '1', messageId: id },
    ])
      expect(() => parsePayload('send_message', bad)).toThrow()
  })

  it('makes ids without a colon that are no numbers', () => {
    for (const key of ['12', 'a:b', '2026-03-02', 'ü']) expect(jobId('send_message', key)).toMatch(/^[a-z][0-9A-Za-z-]*$/)
  })
})

describe('asking for a pass', () => {
  it('never fails and never keeps its caller waiting for a queue that is away', async () => {
    const errors: string[] = []
    const note = (error: Error) => errors.push(error.message)
    const away = { enqueue: () => Promise.reject(new Error('away')) }
    const silent = { enqueue: () => new Promise<void>(() => undefined) }
    await new QueuedPlanningRequests(away as never, note).request('o', 'w')
    await new QueuedPlanningRequests(silent as never, note, 20).request('o', 'w')
    expect(errors).toEqual(['away', 'The queue did not answer; the sweep will bring this pass.'])
  })
})
