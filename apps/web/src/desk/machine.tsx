/** One machine's story: where it stands, its use, the wear of its brushes, its dates with why, what was done and what went wrong. */
import { useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { useParams } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayDay, sayNumber, sayWord } from '../ui/format.js'
import { Bones, Heading, NoPage } from '../ui/parts.js'
import { ChangeStatus, Move } from './machine-change.js'
import { Dates } from './machine-dates.js'
import { Photos } from './photos.js'
import { Changes } from './history.js'
import { Facts, PutRight } from './machine-facts.js'
import { Found } from './machine-found.js'
import { Done } from './machine-done.js'
import { Past, Troubles } from './machine-past.js'
import { Parts } from './machine-parts.js'
import { Swap } from './machine-swap.js'
import { SetAside } from './machine-set-aside.js'
import { Stands } from './machine-stands.js'
import { Story } from './machine-story.js'
import { Use } from './machine-use.js'
import { Wear } from './machine-wear.js'
import { mayDecide, useMe } from './me.js'

export function Machine(): ReactNode {
  const me = useMe()
  const { machineId = '' } = useParams()
  const params = { machineId }
  const machine = useQuery({ queryKey: ['machine', machineId], queryFn: () => call('getMachine', { params }) })
  if (machine.isPending) return <Bones lines={12} />
  if (machine.error) return <NoPage title="Machine" error={machine.error} again={() => void machine.refetch()} />
  const { data } = machine
  return (
    <>
      <Heading title={data.labelCode}>
        {data.labelCode} <span className="soft">{data.machineType.name}</span>
      </Heading>
      {data.notices.map((notice) => (
        <p key={notice} className={data.doNotUse ? 'note alarmed' : 'note'}>
          {notice}
        </p>
      ))}
      <Where machine={data} />
      <Dates machine={data} />
      <Story machine={data} />
      <Use machine={data} />
      <Wear machine={data} />
      <Parts machine={data} />
      <SetAside machine={data} />
      <Found machine={data} />
      <Done machine={data} />
      <Troubles machine={data} />
      <Photos of={{ machineId: data.id }} zone={data.zone ?? 'UTC'} />
      <Past machine={data} />
      {mayDecide(me) ? <Changes machineId={data.id} zone={data.zone ?? 'UTC'} /> : null}
    </>
  )
}

type Detail = Answer<'getMachine'>

function Where({ machine }: { machine: Detail }): ReactNode {
  const me = useMe()
  const place = machine.station
    ? `${machine.warehouse?.name}, line ${machine.station.line}, station ${machine.station.name}`
    : machine.warehouse
      ? `${machine.warehouse.name}, at no station`
      : 'at no known place'
  return (
    <>
      <p>
        {sayWord(machine.status).replace(/^./, (letter) => letter.toUpperCase())} since{' '}
        {sayDay(machine.statusSince, machine.today ?? machine.statusSince)}, {place}. Serial number {machine.serialNumber}; commissioned{' '}
        {machine.commissionedOn === null ? 'on a day not known' : sayDay(machine.commissionedOn, '')}; {sayNumber(machine.stripsTotal)}{' '}
        strips in the books.
        {machine.machineType.heater ? ' Has a heater.' : ' No heater.'}{' '}
        {machine.machineType.supply === 'wired_in'
          ? 'Wired in.'
          : machine.machineType.supply === 'none'
            ? 'Hand-driven.'
            : 'Cord and plug.'}
      </p>
      <Facts machine={machine} />
      <Stands machine={machine} />
      {mayDecide(me) ? (
        <>
          <ChangeStatus machine={machine} />
          <Move machine={machine} />
          <Swap machine={machine} />
          <PutRight machine={machine} />
        </>
      ) : null}
    </>
  )
}
