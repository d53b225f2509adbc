/** The town, from which the time zone follows; the zone is shown, and can be set by hand where the town is not listed. */
import { useQuery } from '@tanstack/react-query'
import { type ReactNode, useCallback, useDeferredValue, useEffect, useId, useRef } from 'react'
import { call } from '../client/api.js'
import { Field } from '../ui/parts.js'
import { sayClocks, townMeant } from './begin-clocks.js'

export interface Place {
  name: string
  zone: string
  /** Chosen from the list or set by hand, not merely the zone of this browser. */
  known: boolean
}

const OWN_ZONE = Intl.DateTimeFormat().resolvedOptions().timeZone

const wordsOf = ({ name, region, country }: { name: string; region: string; country: string }): string =>
  [name, region, country].filter((part, index, all) => part !== '' && all.indexOf(part) === index).join(', ')

export function BeginPlace({ place, onPlace }: { place: Place; onPlace: (place: Place) => void }): ReactNode {
  const list = useId()
  const zoneNow = place.zone
  const search = useDeferredValue(place.name.trim())
  const towns = useQuery({
    queryKey: ['places', search],
    enabled: search.length >= 2,
    staleTime: Infinity,
    queryFn: () => call('listPlaces', { query: { search } }),
  })
  const items = towns.data?.items ?? []
  /** The zone before a town gave its own: what goes on being typed ('Rom', 'Romford') is not that town's any more. */
  const before = useRef<string | null>(null)
  const take = useCallback(
    (name: string, zone: string): void => {
      before.current ??= zoneNow
      onPlace({ name, zone, known: true })
    },
    [onPlace, zoneNow],
  )
  const typed = (name: string): void => {
    const town = items.find((item) => wordsOf(item) === name)
    if (town) return take(name, town.zone)
    onPlace({ name, zone: before.current ?? place.zone, known: false })
    before.current = null
  }
  // What was typed in full before the answer came is taken when it is there.
  const late = place.known || search !== place.name.trim() ? undefined : townMeant(items, OWN_ZONE)
  const lateZone = late?.zone
  useEffect(() => {
    if (lateZone) take(place.name, lateZone)
  }, [lateZone, take, place.name])
  const byHand = (zone: string): void => {
    before.current = null
    onPlace({ ...place, zone, known: true })
  }
  return (
    <>
      <Field label="In which town?" hint={sayClocks(place, OWN_ZONE)}>
        {(id) => (
          <>
            <input
              id={id}
              name="place"
              list={list}
              maxLength={200}
              autoComplete="off"
              value={place.name}
              onChange={(event) => typed(event.target.value)}
            />
            <datalist id={list}>
              {items.map((item) => (
                <option key={wordsOf(item) + item.zone}>{wordsOf(item)}</option>
              ))}
            </datalist>
          </>
        )}
      </Field>
      <details className="small">
        <summary>Set the time zone by hand</summary>
        <Field label="Time zone">
          {(id) => (
            <select id={id} value={place.zone} onChange={(event) => byHand(event.target.value)}>
              {[...new Set([place.zone, ...Intl.supportedValuesOf('timeZone')])].map((zone) => (
                <option key={zone}>{zone}</option>
              ))}
            </select>
          )}
        </Field>
      </details>
    </>
  )
}
