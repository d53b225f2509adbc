/** 'It stands here': a station is named, then the labels that stand at it are scanned. Kept on the phone first, like all else. */
import { type FormEvent, type ReactNode, useState } from 'react'
import type { HandMe } from './hand.js'
import { HandHeading } from './heading.js'
import { useKeeping, usePage } from './kept.js'
import { nextStation } from './next-station.js'
import { readScan } from './scan.js'
import { ScanOrType } from './scan-or-type.js'

interface HandStation {
  id: string
  name: string
  line: string
  machines: { labelCode: string }[]
}

function useStanding(): (code: string, stationName: string) => Promise<void> {
  const keeping = useKeeping()
  return (code, stationName) =>
    keeping.keep({
      kind: 'post',
      path: `/api/v1/machine-labels/${encodeURIComponent(code)}/standing`,
      body: { stationName, id: crypto.randomUUID() },
    })
}

/** Walking along the stations of one warehouse with a roll of labels. */
export function StandPage({ warehouseId, me }: { warehouseId: string; me: HandMe }): ReactNode {
  const stand = useStanding()
  const stations = usePage<{ items: HandStation[] }>(`/api/v1/stations?warehouseId=${warehouseId}&limit=200`)
  const [station, setStation] = useState('')
  const [said, setSaid] = useState<{ code: string; station: string }[]>([])
  const name = me.warehouses.find(({ id }) => id === warehouseId)?.name ?? ''
  const known = stations.data?.items.find((item) => item.name.toLowerCase() === station.trim().toLowerCase())
  async function keep(text: string): Promise<void> {
    const scanned = readScan(text)
    if (scanned === '' || station.trim() === '') return
    await stand(scanned, station.trim())
    setSaid((earlier) => [{ code: scanned, station: station.trim() }, ...earlier])
  }
  return (
    <>
      <HandHeading title="Scan, station by station">Scan, station by station</HandHeading>
      <p>
        {name}. Name the station you stand at, then scan each label there. The order in which you walk becomes the order of the walking
        list.
      </p>
      <label htmlFor="station">Station</label>
      <div className="beside">
        <input
          id="station"
          list="stations"
          value={station}
          onChange={(event) => setStation(event.target.value)}
          maxLength={100}
          autoComplete="off"
          autoCapitalize="characters"
        />
        <button type="button" disabled={nextStation(station) === station} onClick={() => setStation(nextStation(station))}>
          Next
        </button>
      </div>
      <datalist id="stations">
        {stations.data?.items.map((item) => (
          <option key={item.id} value={item.name}>
            {item.line}
          </option>
        ))}
      </datalist>
      <p className="small soft">
        {station.trim() === ''
          ? 'As people call it there: B07, gate 3.'
          : known
            ? `In the books already${known.machines.length > 0 ? `, with ${known.machines.map(({ labelCode }) => labelCode).join(', ')}` : ''}.`
            : 'New: it comes into the books with the first scan.'}
      </p>
      <ScanOrType verb="Stands here" waits={station.trim() === ''} goesOn onCode={keep} />
      <ul className="plain lines" aria-live="polite">
        {said.map(({ code: label, station: at }, index) => (
          <li key={said.length - index}>
            {label} stands at {at}.
          </li>
        ))}
      </ul>
      <nav className="stack" aria-label="More">
        <a className="button" href={`#/round/${warehouseId}`}>
          To the walking list
        </a>
      </nav>
    </>
  )
}

/** On the page of a machine that stands at no station by the books: any name will do, and a new one comes into the books. */
export function StandsAt({ labelCode }: { labelCode: string }): ReactNode {
  const stand = useStanding()
  const [name, setName] = useState('')
  const [said, setSaid] = useState('')
  async function give(event: FormEvent): Promise<void> {
    event.preventDefault()
    await stand(labelCode, name.trim())
    setSaid(`Written down: ${labelCode} stands at ${name.trim()}.`)
  }
  return (
    <section className="part" aria-label="Its station">
      <p role="status">{said}</p>
      {said ? null : (
        <form onSubmit={(event) => void give(event)}>
          <label htmlFor="stands-at">Name the station it stands at</label>
          <div className="beside">
            <input
              id="stands-at"
              value={name}
              onChange={(event) => setName(event.target.value)}
              maxLength={100}
              autoComplete="off"
              autoCapitalize="characters"
            />
            <button disabled={name.trim() === ''}>It stands here</button>
          </div>
        </form>
      )}
    </section>
  )
}
