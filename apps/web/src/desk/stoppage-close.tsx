/** 'It works again': since when, and why it had stood still. */
import { useQuery, useQueryClient } from '@tanstack/react-query'
import { type StoppageCause, stoppageCauseSchema } from '@tapewarden/shared'
import { type ReactNode, useState } from 'react'
import { call } from '../client/api.js'
import { serverNow } from '../client/clock.js'
import { Bones, Fault, Field } from '../ui/parts.js'
import { WallField } from '../ui/wall-field.js'
import { notBefore, readWall } from '../ui/wall-read.js'
import { OpenedForm } from './part-form.js'
import { faultAt, inFormWords } from './stoppage-faults.js'
import { MOMENTS, type One } from './stoppage-words.js'
import { OneOf } from './one-of.js'

interface Props {
  stoppageId: string
  labelCode: string
  onDone: () => void
}
const NAMES = { backInUseAt: 'Back in use since', note: 'Note' }

export function WorksAgain(props: Props): ReactNode {
  const [asking, setAsking] = useState(false)
  if (asking) return <Asked {...props} onLeave={() => setAsking(false)} />
  return (
    <p className="no-print">
      <button className="main" onClick={() => setAsking(true)}>
        It works again…
      </button>
    </p>
  )
}

type Leaving = Props & { onLeave: () => void }

function Asked(props: Leaving): ReactNode {
  const { stoppageId } = props
  const stoppage = useQuery({ queryKey: ['stoppage', stoppageId], queryFn: () => call('getStoppage', { params: { stoppageId } }) })
  if (stoppage.error) return <Fault error={stoppage.error} again={() => void stoppage.refetch()} />
  if (!stoppage.data) return <Bones lines={3} />
  return <Closing {...props} stoppage={stoppage.data} />
}

function Closing({ stoppage, labelCode, onDone, onLeave }: Leaving & { stoppage: One }): ReactNode {
  const queries = useQueryClient()
  const [now] = useState(() => serverNow())
  const [error, setError] = useState<unknown>(null)
  const [busy, setBusy] = useState(false)
  const { zone, name } = stoppage.warehouse
  async function send(form: FormData): Promise<void> {
    const typed = readWall(form, 'backInUseAt', zone, now)
    const latest = MOMENTS.map(([key]) => stoppage[key]).findLast((at) => at !== null) ?? null
    const note = String(form.get('note')).trim()
    await call('closeStoppage', {
      params: { stoppageId: stoppage.id },
      body: {
        ...(typed === null ? {} : { backInUseAt: notBefore(typed, latest) }),
        cause: String(form.get('cause')) as StoppageCause,
        ...(note === '' ? {} : { note }),
      },
    })
    await queries.invalidateQueries()
    onDone()
  }
  function submit(form: FormData): void {
    setBusy(true)
    setError(null)
    send(form)
      .catch(setError)
      .finally(() => setBusy(false))
  }
  return (
    <OpenedForm label={`${labelCode} works again`} onSubmit={submit}>
      {error ? <Fault error={inFormWords(error, NAMES)} /> : null}
      <WallField
        name="backInUseAt"
        label="Back in use since"
        zone={zone}
        instant={now}
        required
        hint={`By the clocks of ${name}; now, unless it was earlier.`}
        fault={faultAt(error, '/backInUseAt')}
      />
      <OneOf label="Cause" name="cause" value={stoppage.cause} options={stoppageCauseSchema.options} />
      <Field label="Note" hint="Added to what is noted already." fault={faultAt(error, '/note')}>
        {(id) => <textarea id={id} name="note" maxLength={4000} />}
      </Field>
      <button className="main" disabled={busy}>
        It works again
      </button>{' '}
      <button type="button" onClick={onLeave}>
        Leave it open
      </button>
    </OpenedForm>
  )
}
