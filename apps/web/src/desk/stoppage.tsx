/** One stoppage: what stood still and why, where its hours went, its moments one by one; put right and closed here. */
import { useQuery } from '@tanstack/react-query'
import { type ReactNode, useState } from 'react'
import { Link, useParams } from 'react-router'
import { call } from '../client/api.js'
import { sayNumber, sayWord } from '../ui/format.js'
import { Bones, Heading, NoPage, Said } from '../ui/parts.js'
import { mayDecide, useMe, useToday } from './me.js'
import { WorksAgain } from './stoppage-close.js'
import { PutRight } from './stoppage-form.js'
import { StoppageHistory } from './stoppage-history.js'
import { StoppageHours } from './stoppage-hours.js'
import { MOMENTS, type One, sayChoice, sayMoment, sayWait, withoutIt } from './stoppage-words.js'

export function Stoppage(): ReactNode {
  const { stoppageId = '' } = useParams()
  const stoppage = useQuery({ queryKey: ['stoppage', stoppageId], queryFn: () => call('getStoppage', { params: { stoppageId } }) })
  if (stoppage.isPending) return <Bones lines={12} />
  if (stoppage.error) return <NoPage title="Stoppage" error={stoppage.error} again={() => void stoppage.refetch()} />
  return <Page stoppage={stoppage.data} />
}

function Page({ stoppage }: { stoppage: One }): ReactNode {
  const me = useMe()
  const today = useToday(stoppage.warehouse.id)
  const [correcting, setCorrecting] = useState(false)
  /** What was done here last, with the hours before it. */
  const [did, setDid] = useState<{ closed: boolean; before: string } | null>(null)
  const began = sayMoment(stoppage.failedAt, stoppage.warehouse.zone, today)
  const hours = sayNumber(stoppage.durations.totalHours, 1)
  const correct = (): void => {
    setDid(null)
    setCorrecting(true)
  }
  return (
    <>
      <Heading title={`Stoppage of ${stoppage.machine.labelCode}, ${began}`}>
        Stoppage of {stoppage.machine.labelCode}{' '}
        <span className="soft">
          {stoppage.open ? 'since ' : ''}
          {began}
        </span>
      </Heading>
      <Facts stoppage={stoppage} />
      {did ? (
        <Said>
          Written down. {stoppage.machine.labelCode} stood still for {hours} hours{stoppage.open ? ' so far' : ''}
          {did.closed ? '' : `; before this change it was ${did.before}`}.
        </Said>
      ) : null}
      {stoppage.open ? (
        <WorksAgain
          stoppageId={stoppage.id}
          labelCode={stoppage.machine.labelCode}
          onDone={() => setDid({ closed: true, before: hours })}
        />
      ) : null}
      <StoppageHours stoppage={stoppage} today={today} />
      <Moments stoppage={stoppage} today={today} />
      {correcting ? (
        <PutRight
          stoppage={stoppage}
          today={today}
          onEnd={(changed) => {
            setCorrecting(false)
            setDid(changed ? { closed: false, before: changed } : null)
          }}
        />
      ) : (
        <p className="no-print" style={{ marginTop: 16 }}>
          <button onClick={correct}>Put it right…</button>
        </p>
      )}
      {mayDecide(me) ? <StoppageHistory stoppage={stoppage} today={today} /> : null}
    </>
  )
}

const NOTICED: Readonly<Record<string, string>> = {
  packer: 'A packer noticed it',
  technician: 'A technician noticed it',
  manager: 'A manager noticed it',
  other_system: 'Another system noticed it',
}

function Facts({ stoppage }: { stoppage: One }): ReactNode {
  const { machine, warehouse, station, workOrder, componentKey } = stoppage
  const components = useQuery({
    queryKey: ['component-types'],
    queryFn: () => call('listComponentTypes', {}),
    enabled: componentKey !== null,
  })
  const component = components.data?.items.find(({ key }) => key === componentKey)?.name ?? sayWord(componentKey ?? '')
  return (
    <>
      <p>
        <Link to={`/machines/${machine.id}`}>{machine.labelCode}</Link>, {machine.typeName}, {warehouse.name}
        {station ? `, station ${station.name}` : ', at no station'}. What was wrong: {sayChoice(stoppage.failureMode)}
        {component ? `; part of the machine: ${component}` : ''}; cause: {sayChoice(stoppage.cause)}.{' '}
        {stoppage.planned ? 'Planned' : 'Not planned'}.
      </p>
      <p>
        {NOTICED[stoppage.noticedHow] ?? 'Who noticed it is not known'}; told by {stoppage.reportedBy || 'someone not named'}.{' '}
        {workOrder ? (
          <>
            Work order <Link to={`/work/${workOrder.id}`}>{workOrder.number}</Link>.
          </>
        ) : (
          'No work order belongs to it.'
        )}
      </p>
      {stoppage.note ? <p style={{ whiteSpace: 'pre-line' }}>{stoppage.note}</p> : null}
    </>
  )
}

function Moments({ stoppage, today }: { stoppage: One; today: string }): ReactNode {
  const { zone } = stoppage.warehouse
  return (
    <section aria-labelledby="moments">
      <h2 id="moments">Its moments</h2>
      <p className="soft small">By the clocks of {stoppage.warehouse.name}.</p>
      <ul className="plain sentences">
        {MOMENTS.map(([key, name]) => (
          <li key={key}>
            {name}:{' '}
            {stoppage[key] === null ? (
              <span className="soft">
                {key === 'backInUseAt' ? 'not yet' : 'not known'}; {withoutIt(key, stoppage)}
              </span>
            ) : (
              sayMoment(stoppage[key], zone, today)
            )}
          </li>
        ))}
        {stoppage.waits.map(({ reason, fromAt, toAt }) => (
          <li key={`${reason}${fromAt}`}>
            Waited for {sayWait(reason)}: {sayMoment(fromAt, zone, today)} to {toAt === null ? 'no end yet' : sayMoment(toAt, zone, today)}
          </li>
        ))}
      </ul>
    </section>
  )
}
