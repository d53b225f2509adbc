/** An order that is not ended: who has it, on which day it is planned, and its note; what somebody else changed meanwhile is shown first. */
import { useQuery, useQueryClient } from '@tanstack/react-query'
import { type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { ApiProblem } from '../client/problems.js'
import { sayDay, sayWord } from '../ui/format.js'
import { Fault, Field } from '../ui/parts.js'
import { useToday } from './me.js'
import { OpenedForm } from './part-form.js'
import { useTechnicians } from './use-technicians.js'
import { dayAnswer } from './visit-day.js'

type Sheet = Answer<'getWorkOrder'>

export const isEnded = ({ state }: Pick<Sheet, 'state'>): boolean => state === 'done' || state === 'looked_over' || state === 'cancelled'
/** Before it is issued, and when it came back, a person is named by issuing it. */
export const isInHand = ({ state }: Pick<Sheet, 'state'>): boolean => state !== 'drafted' && state !== 'returned'

export function ChangeOrder({ sheet, onEnd }: { sheet: Sheet; onEnd: () => void }): ReactNode {
  const queries = useQueryClient()
  const [technicianId, setTechnicianId] = useState(sheet.technician?.id ?? '')
  const [plannedOn, setPlannedOn] = useState(sheet.plannedOn ?? '')
  const [note, setNote] = useState(sheet.note)
  /** As it was when this was opened, or when somebody else's change was shown: what is sent is what differs from it. */
  const [known, setKnown] = useState(sheet)
  const [meanwhile, setMeanwhile] = useState(false)
  const [error, setError] = useState<unknown>(null)
  const [busy, setBusy] = useState(false)
  async function save(): Promise<void> {
    const body = {
      ...(isInHand(sheet) && technicianId !== (known.technician?.id ?? '') ? { technicianId } : {}),
      ...(plannedOn === (known.plannedOn ?? '') ? {} : { plannedOn: plannedOn || null }),
      ...(note === known.note ? {} : { note }),
    }
    await call('patchWorkOrder', { params: { workOrderId: sheet.id }, body: { ...body, version: known.version } })
    onEnd()
    await queries.invalidateQueries()
  }
  async function refused(problem: unknown): Promise<void> {
    if (!(problem instanceof ApiProblem) || problem.code !== 'CHANGED_MEANWHILE') return setError(problem)
    const now = await call('getWorkOrder', { params: { workOrderId: sheet.id } })
    queries.setQueryData(['work-order', sheet.id], now)
    // What was not touched here is as somebody else left it.
    if (technicianId === (known.technician?.id ?? '')) setTechnicianId(now.technician?.id ?? '')
    if (plannedOn === (known.plannedOn ?? '')) setPlannedOn(now.plannedOn ?? '')
    if (note === known.note) setNote(now.note)
    setKnown(now)
    setMeanwhile(true)
  }
  function submit(): void {
    setBusy(true)
    setError(null)
    setMeanwhile(false)
    save()
      .catch((problem: unknown) => refused(problem).catch(setError))
      .finally(() => setBusy(false))
  }
  return (
    <OpenedForm label={`Change order ${sheet.number}`} onSubmit={submit}>
      <h2>Change it</h2>
      {error ? <Fault error={error} /> : null}
      {meanwhile ? <Meanwhile sheet={known} /> : null}
      {isInHand(sheet) ? <Who sheet={sheet} value={technicianId} onChange={setTechnicianId} /> : null}
      <Day sheet={sheet} value={plannedOn} onChange={setPlannedOn} />
      <Field label="Note" hint="The technician reads it; so does everybody who looks at the order.">
        {(id) => <textarea id={id} value={note} maxLength={4000} rows={3} onChange={(event) => setNote(event.target.value)} />}
      </Field>
      <div className="row">
        <button className="main" disabled={busy}>
          {meanwhile ? 'Keep mine all the same' : 'Keep'}
        </button>
        <button type="button" onClick={onEnd}>
          Leave as it was
        </button>
      </div>
    </OpenedForm>
  )
}

function Meanwhile({ sheet }: { sheet: Sheet }): ReactNode {
  const today = useToday(sheet.warehouse.id)
  return (
    <div className="note alarmed" role="alert">
      <p>
        Nothing was kept: the order was changed while you wrote. It is {sayWord(sheet.state)} now,{' '}
        {sheet.technician ? `at ${sheet.technician.name}` : 'at nobody'},{' '}
        {sheet.plannedOn ? `planned for ${sayDay(sheet.plannedOn, today)}` : 'without a day'}
        {sheet.note ? ', with this note:' : ', without a note.'}
      </p>
      {sheet.note ? (
        <p>
          <q>{sheet.note}</q>
        </p>
      ) : null}
      <p>What you typed is still below.</p>
    </div>
  )
}

function Who({ sheet, value, onChange }: { sheet: Sheet; value: string; onChange: (id: string) => void }): ReactNode {
  const { technicians, error } = useTechnicians(sheet.warehouse.id, sheet.skill)
  const { technician } = sheet
  const others = technicians?.filter(({ id }) => id !== technician?.id) ?? []
  const name = others.find(({ id }) => id === value)?.name
  if (error) return <Fault error={error} />
  return (
    <Field label="Technician" hint={hintOf(sheet, technicians ? others.length : null, name)}>
      {(id) => (
        <select id={id} value={value} required onChange={(event) => onChange(event.target.value)}>
          {technician ? <option value={technician.id}>{technician.name}, as it is</option> : <option value="">nobody yet</option>}
          {others.map((person) => (
            <option key={person.id} value={person.id}>
              {person.name}
            </option>
          ))}
        </select>
      )}
    </Field>
  )
}

/** What follows of the choice, before it is kept. */
function hintOf(
  { technician, skill, state, visitId, warehouse }: Sheet,
  others: number | null,
  name: string | undefined,
): string | undefined {
  if (others === 0)
    return `Nobody else who serves ${warehouse.name} may take it${skill === 'electrical' ? ': it holds an electrical task' : ''}. See People in Set-up.`
  if (name === undefined) return undefined
  const before = technician ? ` It leaves the list of ${technician.name}; what ${technician.name} has answered stays.` : ''
  const begun = state === 'under_way' || state === 'waiting' ? ' It has been begun: say on the telephone how the machine stands.' : ''
  return `${name} is told with the next mail, and begins with the cautions.${before}${begun}${visitId ? ' It leaves the visit that it was in.' : ''}`
}

function Day({ sheet, value, onChange }: { sheet: Sheet; value: string; onChange: (day: string) => void }): ReactNode {
  const { warehouse } = sheet
  const hall = useQuery({
    queryKey: ['warehouse', warehouse.id],
    queryFn: () => call('getWarehouse', { params: { warehouseId: warehouse.id } }),
  })
  const warning = hall.data && value !== '' && value !== sheet.plannedOn ? dayAnswer(hall.data, value).warning : null
  return (
    <Field label="Planned on" hint="Left empty: no day." fault={warning ?? undefined}>
      {(id) => <input id={id} type="date" value={value} onChange={(event) => onChange(event.target.value)} />}
    </Field>
  )
}
