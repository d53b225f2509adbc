/** The town, from which the time zone follows; the zone is shown, and can be set by hand where the town is not listed. */
import { useQuery } from '@tanstack/react-query'
import { type ReactNode, useDeferredValue, useEffect, useId } from 'react'
import { call } from '../client/api.js'
import { Field } from '../ui/parts.js'
import { sayClocks } from './begin-clocks.js'

export interface Place {
  name: string
  zone: string
  /** Chosen from the list or set by hand, not merely the zone of this browser. */
  known: boolean
}

const wordsOf = ({ name, region, country }: { name: string; region: string; country: string }): string =>
  [name, region, country].filter((part, index, all) => part !== '' && all.indexOf(part) === index).join(', ')

export function BeginPlace({ place, onPlace }: { place: Place; onPlace: (place: Place) => void }): ReactNode {
  const list = useId()
  const search = useDeferredValue(place.name.trim())
  const towns = useQuery({
    queryKey: ['places', search],
    enabled: search.length >= 2,
    staleTime: Infinity,
    queryFn: () => call('listPlaces', { query: { search } }),
  })
  const items = towns.data?.items ?? []
  const typed = (name: string): void => {
    const town = items.find((item) => wordsOf(item) === name || item.name.toLowerCase() === name.trim().toLowerCase())
    onPlace(town ? { name, zone: town.zone, known: true } : { ...place, name, known: false })
  }
  // What was typed in full before the answer came is taken when it is there.
  const late = place.known ? undefined : items.find((item) => item.name.toLowerCase() === place.name.trim().toLowerCase())
  const lateZone = late?.zone
  useEffect(() => {
    if (lateZone) onPlace({ name: place.name, zone: lateZone, known: true })
  }, [lateZone, onPlace, place.name])
  return (
    <>
      <Field label="In which town?" hint={sayClocks(place, Intl.DateTimeFormat().resolvedOptions().timeZone)}>
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
            <select id={id} value={place.zone} onChange={(event) => onPlace({ ...place, zone: event.target.value, known: true })}>
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
