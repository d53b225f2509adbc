import { describe, expect, it } from '@jest/globals'
import { wrongOf } from './wrong.js'

const worker = { process: 'worker a 1', seenAt: '2026-03-03T10:00:00.000Z', secondsAgo: 12, clockDifferenceMs: 30, queueAnswers: true }
const moving = {
  now: '2026-03-03T10:00:00.000Z',
  warehouses: [],
  oldestPendingMessageSeconds: null,
  oldestUnsaidReminderDay: null,
  uncertainMessages: 0,
  failedMessages: 0,
  forecastsNotComputed: 0,
  messagesByState: {},
  dueMessages: 0,
  sendingJobs: 0,
  unsaidReminders: 0,
  oldestUnsaidSeconds: 0,
  processes: [worker],
}

describe('what is wrong', () => {
  it('is nothing while everything moves', () => {
    expect(wrongOf(moving)).toEqual([])
    expect(wrongOf({ ...moving, oldestPendingMessageSeconds: 119, oldestUnsaidSeconds: 100 })).toEqual([])
  })

  it('is said in sentences with numbers', () => {
    expect(wrongOf({ ...moving, processes: [] })).toEqual(['No worker has been heard of yet.'])
    expect(wrongOf({ ...moving, processes: [{ ...worker, secondsAgo: 600 }] })).toEqual(['No worker has been heard of for 10 minutes.'])
    expect(wrongOf({ ...moving, processes: [{ ...worker, queueAnswers: false }] })).toEqual(['The queue does not answer the workers.'])
    const api = { ...worker, process: 'api a 3', queueAnswers: null }
    expect(wrongOf({ ...moving, processes: [api, worker] })).toEqual([])
    expect(wrongOf({ ...moving, processes: [api] })).toEqual(['No worker has been heard of yet.'])
    expect(wrongOf({ ...moving, processes: [{ ...api, clockDifferenceMs: 9000 }, worker] })).toEqual([
      'The clock of api a 3 differs from the database’s by 9 s.',
    ])
    expect(wrongOf({ ...moving, processes: [worker, { ...worker, process: 'worker b 2', clockDifferenceMs: -61_000 }] })).toEqual([
      'The clock of worker b 2 differs from the database’s by 61 s.',
    ])
    expect(wrongOf({ ...moving, oldestPendingMessageSeconds: 300, oldestUnsaidSeconds: 3600 })).toEqual([
      'The oldest mail that is due has waited 5 minutes.',
      'The oldest reminder that could be in a mail has waited 60 minutes.',
    ])
  })
})
