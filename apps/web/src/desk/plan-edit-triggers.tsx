/** What makes a task due: one line a trigger, with its window and baseline said beside it. */
import type { ReactNode } from 'react'
import { Field } from '../ui/parts.js'
import { sayWord } from '../ui/format.js'
import { useMe } from './me.js'
import { type DraftTask, sayTrigger, sayWindow, type Trigger } from './plan-words.js'

const KINDS: readonly [Trigger['kind'], string][] = [
  ['calendar', 'an interval of months or days'],
  ['calendar_month', 'once in each calendar month'],
  ['usage', 'so many strips, metres or motor minutes'],
  ['wear', 'wear, from measured lengths'],
  ['life', 'the chance of failure since the last look'],
  ['least_cost_age', 'the least-cost age'],
  ['finding', 'a finding'],
  ['function_check', 'strip lengths that drift'],
  ['situation', 'a situation'],
]
const SITUATIONS = ['moved', 'brushes_replaced', 'jam_storm', 'new_tape', 'back_in_service', 'before_peak'] as const

function fresh(kind: Trigger['kind']): Trigger {
  if (kind === 'calendar') return { kind, months: 6, mode: 'nominal' }
  if (kind === 'usage') return { kind, unit: 'strips', amount: 20_000 }
  if (kind === 'life') return { kind, failedFraction: 0.1 }
  if (kind === 'situation') return { kind, situation: 'moved' }
  return { kind }
}

export function Triggers({ task, onChange }: { task: DraftTask; onChange: (triggers: Trigger[]) => void }): ReactNode {
  const { units } = useMe().person
  const put = (index: number, trigger: Trigger): void => onChange(task.triggers.map((one, at) => (at === index ? trigger : one)))
  return (
    <fieldset className="plain">
      <legend className="strong">Falls due by</legend>
      {task.triggers.map((trigger, index) => (
        <div key={`${index}${trigger.kind}`} className="item">
          <Field label={index === 0 ? 'Trigger' : `Trigger ${index + 1}, the earliest governs`}>
            {(id) => (
              <select id={id} value={trigger.kind} onChange={(event) => put(index, fresh(event.target.value as Trigger['kind']))}>
                {KINDS.map(([kind, words]) => (
                  <option key={kind} value={kind}>
                    {words}
                  </option>
                ))}
              </select>
            )}
          </Field>
          <Details trigger={trigger} onChange={(next) => put(index, next)} />
          <p className="small soft">
            {sayTrigger(trigger, units)}. {sayWindow(trigger, task.safetyCheck)}
          </p>
          {task.triggers.length > 1 ? (
            <button type="button" onClick={() => onChange(task.triggers.filter((_, at) => at !== index))}>
              Remove this trigger
            </button>
          ) : null}
        </div>
      ))}
      <button type="button" onClick={() => onChange([...task.triggers, fresh('calendar')])}>
        Add a trigger
      </button>
    </fieldset>
  )
}

function Details({ trigger, onChange }: { trigger: Trigger; onChange: (trigger: Trigger) => void }): ReactNode {
  if (trigger.kind === 'calendar') return <Calendar trigger={trigger} onChange={onChange} />
  if (trigger.kind === 'usage')
    return (
      <div className="row">
        <Amount label="Every" value={trigger.amount} onChange={(amount) => onChange({ ...trigger, amount })} />
        <Field label="Of">
          {(id) => (
            <select
              id={id}
              value={trigger.unit}
              onChange={(event) => onChange({ ...trigger, unit: event.target.value as typeof trigger.unit })}
            >
              {['strips', 'metres', 'motor_minutes'].map((unit) => (
                <option key={unit} value={unit}>
                  {sayWord(unit)}
                </option>
              ))}
            </select>
          )}
        </Field>
      </div>
    )
  if (trigger.kind === 'life')
    return (
      <Amount
        label="Look when so many may have failed"
        unit="%"
        value={Math.round(trigger.failedFraction * 1000) / 10}
        onChange={(percent) => onChange({ ...trigger, failedFraction: Math.min(0.99, percent / 100) })}
      />
    )
  if (trigger.kind === 'situation')
    return (
      <Field label="Situation">
        {(id) => (
          <select
            id={id}
            value={trigger.situation}
            onChange={(event) => onChange({ kind: 'situation', situation: event.target.value as (typeof SITUATIONS)[number] })}
          >
            {SITUATIONS.map((situation) => (
              <option key={situation} value={situation}>
                {sayWord(situation)}
              </option>
            ))}
          </select>
        )}
      </Field>
    )
  return null
}

type CalendarTrigger = Extract<Trigger, { kind: 'calendar' }>
function Calendar({ trigger, onChange }: { trigger: CalendarTrigger; onChange: (trigger: Trigger) => void }): ReactNode {
  const unit = trigger.months === undefined ? 'days' : 'months'
  const length = (count: number, of: string): CalendarTrigger => {
    const { months: _months, days: _days, ...rest } = trigger
    return of === 'months' ? { ...rest, months: Math.min(240, count) } : { ...rest, days: Math.min(7300, count) }
  }
  return (
    <>
      <div className="row">
        <Amount label="Every" value={trigger.months ?? trigger.days ?? 1} onChange={(count) => onChange(length(Math.round(count), unit))} />
        <Field label="Of">
          {(id) => (
            <select id={id} value={unit} onChange={(event) => onChange(length(trigger.months ?? trigger.days ?? 1, event.target.value))}>
              <option value="months">months</option>
              <option value="days">days</option>
            </select>
          )}
        </Field>
      </div>
      <Field label="Counted from" hint="The baseline of the next date.">
        {(id) => (
          <select
            id={id}
            value={trigger.mode}
            onChange={(event) => onChange({ ...trigger, mode: event.target.value as typeof trigger.mode })}
          >
            <option value="nominal">the date it was due, where it was done within its window</option>
            <option value="floating">the day it was last done</option>
            <option value="anchored">fixed dates</option>
          </select>
        )}
      </Field>
      {trigger.mode === 'anchored' ? (
        <Field label="First of the fixed dates">
          {(id) => (
            <input
              id={id}
              type="date"
              required
              value={trigger.anchoredOn ?? ''}
              onChange={(event) => onChange({ ...trigger, anchoredOn: event.target.value })}
            />
          )}
        </Field>
      ) : null}
    </>
  )
}

export function Amount({
  label,
  value,
  unit,
  onChange,
}: {
  label: string
  value: number
  unit?: string
  onChange: (value: number) => void
}): ReactNode {
  return (
    <Field label={label} unit={unit}>
      {(id) => (
        <input
          id={id}
          type="number"
          min="0"
          step="any"
          required
          value={value}
          onChange={(event) => {
            const typed = event.target.valueAsNumber
            if (typed > 0) onChange(typed)
          }}
        />
      )}
    </Field>
  )
}
