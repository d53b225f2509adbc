/** A stoppage written down at the desk, as it was told: still going on, or over already. */
import { useQueryClient } from '@tanstack/react-query'
import {
  type FailureMode,
  failureModeSchema,
  type NoticedHow,
  noticedHowSchema,
  type StoppageCause,
  stoppageCauseSchema,
} from '@tapewarden/shared'
import { type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { serverNow } from '../client/clock.js'
import { Fault, Field } from '../ui/parts.js'
import { WallField } from '../ui/wall-field.js'
import { notBefore, readWall } from '../ui/wall-read.js'
import { OneOf } from './one-of.js'
import { OpenedForm } from './part-form.js'
import { faultAt, inFormWords } from './stoppage-faults.js'

type Detail = Answer<'getMachine'>
type Told = Answer<'reportStoppage'>
const NAMES = { failedAt: 'Since when', backInUseAt: 'Back in use', note: 'Note', reportedBy: 'Who told it' }

/** @param onTold  with what is in the books now, and whether it was added to a stoppage that was open already */
export function WriteDown({
  machine,
  over,
  onTold,
  onLeave,
}: {
  machine: Detail
  over: boolean
  onTold: (told: Told, joined: boolean) => void
  onLeave: () => void
}): ReactNode {
  const queries = useQueryClient()
  const [id] = useState(() => crypto.randomUUID())
  const [now] = useState(() => serverNow())
  const [error, setError] = useState<unknown>(null)
  const [busy, setBusy] = useState(false)
  const zone = machine.zone ?? 'UTC'
  async function send(form: FormData): Promise<void> {
    const failedAt = readWall(form, 'failedAt', zone, over ? null : now)
    const back = over ? readWall(form, 'backInUseAt', zone, null) : null
    const reportedBy = String(form.get('reportedBy')).trim()
    const told = await call('reportStoppage', {
      body: {
        id,
        machineId: machine.id,
        ...(failedAt === null ? {} : { failedAt }),
        ...(back === null ? {} : { backInUseAt: notBefore(back, failedAt) }),
        failureMode: form.get('failureMode') as FailureMode,
        cause: form.get('cause') as StoppageCause,
        noticedHow: form.get('noticedHow') as NoticedHow,
        note: String(form.get('note')).trim(),
        ...(reportedBy === '' ? {} : { reportedBy }),
      },
    })
    await queries.invalidateQueries()
    onTold(told, told.id !== id)
  }
  function submit(form: FormData): void {
    setBusy(true)
    setError(null)
    send(form)
      .catch(setError)
      .finally(() => setBusy(false))
  }
  const clocks = `By the clocks of ${machine.warehouse?.name ?? 'its warehouse'}.`
  return (
    <OpenedForm label={`${machine.labelCode} ${over ? 'stood still' : 'stands still'}`} onSubmit={submit}>
      {error ? <Fault error={inFormWords(error, NAMES)} /> : null}
      <WallField
        name="failedAt"
        label="Since when"
        zone={zone}
        instant={over ? null : now}
        required
        hint={clocks}
        fault={faultAt(error, '/failedAt')}
      />
      {over ? (
        <WallField name="backInUseAt" label="Back in use" zone={zone} instant={null} required fault={faultAt(error, '/backInUseAt')} />
      ) : null}
      <OneOf label="What was wrong" name="failureMode" value="unknown" options={failureModeSchema.options} />
      <OneOf label="Cause" name="cause" value="unknown" options={stoppageCauseSchema.options} />
      <OneOf label="Noticed by" name="noticedHow" value="unknown" options={noticedHowSchema.options} />
      <Field label="Who told it" hint="Left empty: you." fault={faultAt(error, '/reportedBy')}>
        {(field) => <input id={field} name="reportedBy" maxLength={200} autoComplete="off" />}
      </Field>
      <Field label="Note" fault={faultAt(error, '/note')}>
        {(field) => <textarea id={field} name="note" maxLength={4000} />}
      </Field>
      <button className="main" disabled={busy}>
        Write the stoppage down
      </button>{' '}
      <button type="button" onClick={onLeave}>
        Leave it
      </button>
    </OpenedForm>
  )
}
