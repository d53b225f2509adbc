import { type Calculation, defineCalculation } from '@tapewarden/reliability'
import { z } from 'zod'
import { availabilityOfLog } from '../time/availability.js'
import { recurrence } from '../time/recurrence/index.js'
import { elapsedHours, readLocalTime, zoneTransitions } from '../time/zones.js'

const text = z.string().min(1).max(64)
const stoppage = z.strictObject({ kind: z.enum(['failure', 'planned']), down: text, up: text.nullable() })

export const timeCalculations: readonly Calculation[] = [
  defineCalculation({
    name: 'local-time',
    summary: 'The instant of a local time, and whether it is there once, twice or not at all',
    inputs: z.strictObject({ zone: text, local: text }),
    compute: ({ zone, local }) => readLocalTime(zone, local),
  }),
  defineCalculation({
    name: 'elapsed-hours',
    summary: 'Hours that pass between two local times of a zone',
    inputs: z.strictObject({ zone: text, from: text, to: text }),
    compute: ({ zone, from, to }) => ({ hours: elapsedHours(zone, from, to) }),
  }),
  defineCalculation({
    name: 'zone-transitions',
    summary: 'When a zone’s clocks change between two instants',
    inputs: z.strictObject({ zone: text, from: text, to: text }),
    compute: ({ zone, from, to }) => ({ transitions: zoneTransitions(zone, from, to) }),
  }),
  defineCalculation({
    name: 'recurrence',
    summary: 'The local times and instants of an RFC 5545 recurrence rule in a zone',
    inputs: z.strictObject({ start: text, zone: text, rule: z.string().min(1).max(1000), limit: z.int().min(1).max(100_000).optional() }),
    compute: recurrence,
  }),
  defineCalculation({
    name: 'availability-log',
    summary: 'Availability, time between failures and to repair from a log of stoppages in local times',
    inputs: z.strictObject({ zone: text, from: text, to: text, stoppages: z.array(stoppage).max(100_000) }),
    compute: ({ zone, from, to, stoppages }) => availabilityOfLog(zone, from, to, stoppages),
  }),
]
