/** Lists that a page needs to their end: everybody, and all stations of a warehouse. */
import { useQuery, type UseQueryResult } from '@tanstack/react-query'
import { type Answer, call } from '../client/api.js'
import { readPages } from '../client/pages.js'

export type Person = Answer<'listPeople'>['items'][number]
export type Station = Answer<'listStations'>['items'][number]

export const usePeople = (enabled = true): UseQueryResult<Person[]> =>
  useQuery({
    queryKey: ['people'],
    queryFn: () => readPages((from) => call('listPeople', { query: { ...from, limit: 200 } })),
    enabled,
  })

export const useStations = (warehouseId: string, enabled = true): UseQueryResult<Station[]> =>
  useQuery({
    queryKey: ['stations', warehouseId],
    queryFn: () => readPages((from) => call('listStations', { query: { ...from, warehouseId, limit: 200 } })),
    enabled,
  })
