import { describe, expect, it } from '@jest/globals'
import { COMPONENT_KEYS, planTaskRequestSchema } from '@tapewarden/shared'
import { defaultPlanFor } from './default-plan.js'
import type { PlanTypeFacts } from './definition.js'

const electric: PlanTypeFacts = { drive: 'electric', supply: 'cord_and_plug', heater: true, feltBehindCover: false }
const hand: PlanTypeFacts = { drive: 'hand', supply: 'none', heater: false, feltBehindCover: false }
const drives = ['electric', 'hand'] as const
const supplies = ['cord_and_plug', 'wired_in', 'none'] as const
const everyType = drives.flatMap((drive) =>
  supplies.flatMap((supply) =>
    [true, false].flatMap((heater) => [true, false].map((feltBehindCover): PlanTypeFacts => ({ drive, supply, heater, feltBehindCover }))),
  ),
)

describe('default service plan', () => {
  it('satisfies the contract for every kind of machine type, and a parsed task is the task as written', () => {
    for (const facts of everyType) for (const task of defaultPlanFor(facts)) expect(planTaskRequestSchema.parse(task)).toEqual(task)
  })

  it('names each task once, and steps and measurements name each other', () => {
    for (const facts of everyType) {
      const plan = defaultPlanFor(facts)
      expect(new Set(plan.map(({ key }) => key)).size).toBe(plan.length)
      for (const { steps, measurements } of plan) {
        expect(new Set(steps.map(({ key }) => key)).size).toBe(steps.length)
        expect(steps.flatMap(({ measurementKey }) => measurementKey ?? []).sort()).toEqual(measurements.map(({ key }) => key).sort())
      }
    }
  })

  it('refers only to tasks, components and choices that are there', () => {
    for (const facts of everyType) {
      const plan = defaultPlanFor(facts)
      const keys = new Set(plan.map(({ key }) => key))
      for (const task of plan) {
        for (const { opensTaskKey } of task.measurements) expect(opensTaskKey === undefined || keys.has(opensTaskKey)).toBe(true)
        for (const { componentKey } of task.parts) expect(COMPONENT_KEYS).toContain(componentKey)
        if (task.componentKey !== null) expect(COMPONENT_KEYS).toContain(task.componentKey)
        for (const step of task.steps) expect(step.answer === 'choice' ? (step.choices ?? []).length > 1 : true).toBe(true)
      }
    }
  })

  it('has the sixteen tasks of the electric dispenser with the minutes, skill and reach of domain.md', () => {
    // Minutes, skill, reach: domain.md, 'Default service plan' (common practice and assumptions, no source).
    expect(defaultPlanFor(electric).map(({ minutes, skill, reach }) => `${minutes} ${skill} ${reach}`)).toEqual([
      '5 instructed outside',
      '10 instructed outside',
      '10 instructed outside',
      '10 instructed outside',
      '3 instructed outside',
      '15 technician cover_off',
      '10 technician cover_off',
      '20 technician cover_off',
      '15 technician cover_off',
      '60 technician inside',
      '10 technician cover_off',
      '15 technician inside',
      '20 technician inside',
      '10 technician cover_off',
      '10 technician cover_off',
      '20 electrical inside',
    ])
  })

  it('marks three safety checks on an electric type, and one on a hand-driven one', () => {
    const safety = (facts: PlanTypeFacts): string[] => defaultPlanFor(facts).flatMap(({ key, safetyCheck }) => (safetyCheck ? key : []))
    expect(safety(electric)).toEqual(['look_at_cord_covers_guard', 'check_interlock_and_return', 'electrical_safety_check'])
    expect(safety(hand)).toEqual(['look_at_cord_covers_guard'])
  })

  it('has no motor, heater, chain or electrical task on a hand-driven type, nor a word of plug or heater in its steps', () => {
    const plan = defaultPlanFor({ ...hand, supply: 'cord_and_plug', heater: true })
    const forbidden = ['motor_brush_set', 'heater', 'chain', 'feed_clutch', 'interlock', 'cord_and_plug', 'control_board']
    for (const { componentKey } of plan) expect(forbidden).not.toContain(componentKey)
    expect(
      plan
        .flatMap(({ name, steps }) => [name, ...steps.map(({ text }) => text)])
        .filter((words) => /plug|heater|motor|electric/i.test(words)),
    ).toEqual([])
  })

  it('gives the felt behind a cover to a technician with the cover off', () => {
    const felt = defaultPlanFor({ ...electric, feltBehindCover: true })[0]
    expect([felt?.key, felt?.skill, felt?.reach]).toEqual(['oil_blade_felt', 'technician', 'cover_off'])
  })

  it('asks for the plug on a cord, for the isolator on a wired-in machine', () => {
    const steps = (facts: PlanTypeFacts): string => JSON.stringify(defaultPlanFor(facts).flatMap(({ name, steps: all }) => [name, all]))
    expect(steps({ ...electric, supply: 'wired_in' })).not.toMatch(/plug/i)
    expect(steps({ ...electric, supply: 'wired_in' })).toMatch(/isolator/)
    expect(steps(electric)).toMatch(/Pull the plug/)
  })

  it('promises nothing: no word of safe, OK, healthy, germ-free', () => {
    const promise = /\b(is safe|OK|healthy|cleared|germ|hygien)/i
    for (const task of everyType.flatMap(defaultPlanFor)) expect(promise.test(JSON.stringify(task)) ? task.key : null).toBeNull()
  })
})
