/** After the seven questions: labels, each scanned where it stands, the first walking list, a test mail; the rest can wait. */
import { useQuery, useQueryClient } from '@tanstack/react-query'
import { type ReactNode, useState } from 'react'
import { Link, useParams } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayCount, sayDay, sayInstant } from '../ui/format.js'
import { Bones, Fault, Heading, NoPage } from '../ui/parts.js'
import { saveFile } from '../ui/save-file.js'

type Steps = Answer<'getBeginning'>
/** While the first dates are worked out or a mail is under way, ms. */
const LOOK_AGAIN_MS = 2000
const UNDER_WAY = new Set(['pending', 'claimed', 'handing_over'])

export function BeginSteps(): ReactNode {
  const { warehouseId = '' } = useParams()
  const steps = useQuery({
    queryKey: ['beginning', warehouseId],
    queryFn: () => call('getBeginning', { params: { warehouseId } }),
    refetchInterval: ({ state: { data } }) =>
      data && (!data.upToDate || data.testMails.some(({ state }) => UNDER_WAY.has(state))) ? LOOK_AGAIN_MS : 15_000,
  })
  if (steps.error && !steps.data) return <NoPage title="First steps" error={steps.error} again={() => void steps.refetch()} />
  if (!steps.data) return <Bones lines={10} />
  const { data } = steps
  return (
    <>
      <Heading title={`First steps in ${data.warehouse.name}`}>First steps in {data.warehouse.name}</Heading>
      <p>
        {data.machineIds.length === 0
          ? 'No machine is registered here yet. '
          : `${sayCount(data.machineIds.length, 'machine is', 'machines are')} in the books. `}
        The clocks run by {data.warehouse.zone}. Reminders go to {data.first?.name ?? 'nobody yet'}, then{' '}
        {data.second?.name ?? 'nobody yet'}. Nothing is late before its first look.
      </p>
      <ol className="steps">
        <PrintLabels steps={data} />
        <StickAndScan steps={data} />
        <Walk steps={data} />
        <TestMail steps={data} />
      </ol>
      <Later steps={data} />
    </>
  )
}

function PrintLabels({ steps }: { steps: Steps }): ReactNode {
  const queries = useQueryClient()
  const [error, setError] = useState<unknown>(null)
  const [busy, setBusy] = useState(false)
  const count = steps.machineIds.length
  // Letter is what printers hold there.
  const layout = steps.warehouse.zone.startsWith('America/') ? 'letter_3_by_10' : 'a4_3_by_8'
  const print = (): void => {
    setBusy(true)
    setError(null)
    call('printLabels', { body: { machineIds: steps.machineIds, layout, skip: 0, fresh: false } })
      .then(saveFile)
      .then(() => queries.invalidateQueries({ queryKey: ['beginning'] }))
      .catch(setError)
      .finally(() => setBusy(false))
  }
  return (
    <li>
      <h2>Print the labels</h2>
      {error ? <Fault error={error} /> : null}
      {count === 0 ? (
        <p>
          <Link to={`/set-up/register?what=machine&warehouseId=${steps.warehouse.id}`}>Register machines</Link> first; their labels come
          with it.
        </p>
      ) : (
        <>
          <p>
            {steps.labelled === 0
              ? `${sayCount(count, 'label', 'labels')} on ${layout === 'a4_3_by_8' ? 'A4, 3 by 8' : 'Letter, 3 by 10'}.`
              : `${steps.labelled} of ${count} machines have their label.`}{' '}
            <Link to={`/labels?warehouseId=${steps.warehouse.id}`}>Other paper, or a label printer</Link>
          </p>
          <button className={steps.labelled < count ? 'main' : undefined} disabled={busy} onClick={print}>
            {busy ? 'Drawing …' : `${sayCount(count, 'label', 'labels')} as PDF`}
          </button>
        </>
      )}
    </li>
  )
}

function StickAndScan({ steps }: { steps: Steps }): ReactNode {
  const count = steps.machineIds.length
  return (
    <li>
      <h2>Stick each on, and scan it where it stands</h2>
      <p>
        Any label fits any of them: stick it where it can be scanned without reaching in, open the code with a phone that is signed in, and
        say which station this is.{' '}
        {steps.atStation === 0 ? 'None has been scanned yet.' : `${steps.atStation} of ${count} stand at a station.`}
      </p>
      <a className="button" href={`/hand.html#/stand/${steps.warehouse.id}`}>
        Scan, station by station
      </a>
    </li>
  )
}

function Walk({ steps: { walk, upToDate, warehouse, machineIds } }: { steps: Steps }): ReactNode {
  const day = (date: string | null): string => sayDay(date, warehouse.today)
  return (
    <li>
      <h2>The first walking list</h2>
      {walk.machines === 0 ? (
        <p>
          {machineIds.length === 0
            ? 'It comes with the first machine.'
            : upToDate
              ? 'No small outside care has a date here yet.'
              : 'Its days are being worked out; this takes a moment.'}
        </p>
      ) : (
        <p>
          {sayCount(walk.machines, 'machine wants', 'machines want')} a first look,{' '}
          {walk.firstOn === walk.lastOn ? `on ${day(walk.firstOn)}` : `between ${day(walk.firstOn)} and ${day(walk.lastOn)}`}, in the order
          in which they were scanned.{' '}
          {walk.openNow === 0 ? 'None is asked for today.' : `${sayCount(walk.openNow, 'is', 'are')} on the list now.`}
        </p>
      )}
      <a className="button" href={`/hand.html#/round/${warehouse.id}`}>
        Open the walking list
      </a>
    </li>
  )
}

type Mail = Steps['testMails'][number]
function sayMail(mail: Mail, zone: string): string {
  if (mail.state === 'sent')
    return `The mail server took the mail to ${mail.address} at ${sayInstant(mail.sentAt, zone)}. Ask ${mail.personName} whether it is there.`
  if (mail.state === 'failed') return `No mail server takes mail for ${mail.address}: ${mail.lastError ?? 'no reason was given'}.`
  if (mail.state === 'uncertain') return `Nobody can know whether the mail to ${mail.address} went out: ask ${mail.personName}.`
  if (mail.state === 'expired') return `The mail to ${mail.address} did not go out: ${mail.lastError ?? 'it was too late'}.`
  return `A mail to ${mail.address} is on its way${mail.lastError ? `; so far: ${mail.lastError}` : ''}.`
}

function TestMail({ steps }: { steps: Steps }): ReactNode {
  const queries = useQueryClient()
  const [error, setError] = useState<unknown>(null)
  const [busy, setBusy] = useState(false)
  const send = (): void => {
    setBusy(true)
    setError(null)
    call('sendTestMails', { params: { warehouseId: steps.warehouse.id } })
      .then(() => queries.invalidateQueries({ queryKey: ['beginning'] }))
      .catch(setError)
      .finally(() => setBusy(false))
  }
  const named = [steps.first, steps.second].filter((person) => person?.email)
  return (
    <li>
      <h2>A test mail</h2>
      {error ? <Fault error={error} /> : null}
      {named.length === 0 ? (
        <p>
          Nobody is named yet who can have mail.{' '}
          <Link to={`/set-up/warehouses/${steps.warehouse.id}`}>Name the two people of {steps.warehouse.name}</Link>
        </p>
      ) : (
        <>
          <div role="status">
            {steps.testMails.length === 0 ? <p>To {named.map((person) => person?.email).join(' and ')}.</p> : null}
            {steps.testMails.map((mail) => (
              <p key={mail.messageId}>{sayMail(mail, steps.warehouse.zone)}</p>
            ))}
          </div>
          <button disabled={busy} onClick={send}>
            {steps.testMails.length === 0 ? 'Send a test mail' : 'Send another'}
          </button>
        </>
      )}
    </li>
  )
}

function Later({ steps: { warehouse } }: { steps: Steps }): ReactNode {
  const hall = `/set-up/warehouses/${warehouse.id}`
  return (
    <details>
      <summary>Later, for better dates…</summary>
      <ul className="plain sentences">
        <li>
          <Link to={hall}>Working days, closures and peaks</Link>. Taken until then: Monday to Friday, 6 to 14 h, no closures.
        </li>
        <li>
          <Link to="/set-up">Plug, heater, strips, counter and limits of the machine type</Link>, and its service plan.
        </li>
        <li>
          <Link to={`/machines?warehouseId=${warehouse.id}`}>When each machine was commissioned</Link>, and what was last done to it.
        </li>
        <li>
          <Link to="/imports">Use, service history and parts from lists</Link>. One tap a month at each machine is enough for useful dates.
        </li>
        <li>
          <Link to="/set-up/people">Who was shown which care, and who is away when</Link>.
        </li>
      </ul>
    </details>
  )
}
