/** One warehouse: what it is, its week, closures and peaks, who serves it and who is told, its stations in walking order. */
import { useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { useParams } from 'react-router'
import { call } from '../client/api.js'
import { sayCount, sayDay } from '../ui/format.js'
import { Bones, Heading, NoPage } from '../ui/parts.js'
import { mayDecide, useMe } from './me.js'
import { Stations } from './set-up-stations.js'
import type { Hall } from './use-change.js'
import { Closures, Peaks } from './warehouse-closed.js'
import { WarehouseFacts } from './warehouse-facts.js'
import { Hours, PartsService, Told } from './warehouse-told.js'
import { Week } from './warehouse-week.js'

export function SetUpWarehouse(): ReactNode {
  const { warehouseId = '' } = useParams()
  const hall = useQuery({ queryKey: ['warehouse', warehouseId], queryFn: () => call('getWarehouse', { params: { warehouseId } }) })
  if (hall.isPending) return <Bones lines={12} />
  if (hall.error) return <NoPage title="Warehouse" error={hall.error} again={() => void hall.refetch()} />
  return <Page hall={hall.data} />
}

function Page({ hall }: { hall: Hall }): ReactNode {
  const decides = mayDecide(useMe())
  return (
    <>
      <Heading title={hall.name}>{hall.name}</Heading>
      <p>
        Time zone {hall.zone}; {sayCount(hall.machineCount, 'machine', 'machines')} at {sayCount(hall.stationCount, 'station', 'stations')}.
        Today there is {sayDay(hall.today, '')}. {hall.upToDate ? 'All dates rest on all evidence.' : 'New evidence is being worked in.'}
      </p>
      <WarehouseFacts hall={hall} decides={decides} />
      <Told hall={hall} decides={decides} />
      <Week hall={hall} decides={decides} />
      <Hours hall={hall} decides={decides} />
      <PartsService hall={hall} decides={decides} />
      <Closures hall={hall} decides={decides} />
      <Peaks hall={hall} decides={decides} />
      <Stations hall={hall} decides={decides} />
    </>
  )
}
