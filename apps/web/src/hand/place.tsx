/** Where a machine stands by the books, and where it stands now: asked at once where the scan is a surprise. */
import { type ReactNode, useEffect, useState } from 'react'
import { sayWord } from '../ui/format.js'
import { serverNow } from '../client/clock.js'
import type { HandMe } from './hand.js'
import { useKeeping, usePage } from './kept.js'
import { stationsPath } from './machines-kept.js'
import { keepPage, keptPage } from './outbox.js'
import { type Placed, surprisedBy } from './scan.js'

interface Station {
  id: string
  name: string
  line: string
}
type Machine = Placed & { id: string; labelCode: string }

const LAST_SCAN = 'last scan'
/** Longer than a drive from one warehouse to the next takes nobody to guess. */
const REMEMBERED_MS = 3 * 3_600_000

/** The warehouse of the last scan, where that is not long ago; then this scan is remembered, unless it is itself the surprise. */
function useHere(machine: Machine, scanned: boolean): { known: boolean; warehouseId: string | null } {
  const { store } = useKeeping()
  const [here, setHere] = useState<{ known: boolean; warehouseId: string | null }>({ known: false, warehouseId: null })
  useEffect(() => {
    if (!scanned) return
    void (async () => {
      const last = await keptPage<string>(store, LAST_SCAN)
      const recent = last && Date.now() - Date.parse(last.at) < REMEMBERED_MS ? last.data : null
      setHere({ known: true, warehouseId: recent })
      if (machine.warehouse && recent === null) await keepPage(store, LAST_SCAN, machine.warehouse.id, new Date().toISOString())
    })()
  }, [store, machine.warehouse, scanned])
  return here
}

export function Place({ machine, me, scanned }: { machine: Machine; me: HandMe; scanned: boolean }): ReactNode {
  const here = useHere(machine, scanned)
  const [asked, setAsked] = useState(false)
  const [said, setSaid] = useState('')
  const place = machine.station ? `${machine.station.line} ${machine.station.name}` : 'no station'
  const surprise = scanned && here.known && !said ? surprisedBy(machine, here.warehouseId) : null
  return (
    <section className={surprise ? 'part note' : 'part'} aria-label="Where it stands">
      <p>
        {sayWord(machine.status).replace(/^./, (letter) => letter.toUpperCase())}; registered at {place}
        {machine.warehouse ? `, ${machine.warehouse.name}` : ''}.
      </p>
      <p role="status">{said}</p>
      {surprise && !asked ? (
        <p className="strong" role="alert">
          {surprise} Where is it now?
        </p>
      ) : null}
      {asked ? (
        <WhereNow
          machine={machine}
          me={me}
          startIn={here.warehouseId}
          onSaid={(words) => (setSaid(words), setAsked(false))}
          onLeave={() => setAsked(false)}
        />
      ) : said ? null : (
        <button onClick={() => setAsked(true)}>{surprise ? 'Say where it is now…' : 'It stands elsewhere…'}</button>
      )}
    </section>
  )
}

function WhereNow({
  machine,
  me,
  startIn,
  onSaid,
  onLeave,
}: {
  machine: Machine
  me: HandMe
  startIn: string | null
  onSaid: (words: string) => void
  onLeave: () => void
}): ReactNode {
  const keeping = useKeeping()
  const [warehouseId, setWarehouseId] = useState(startIn ?? machine.warehouse?.id ?? me.warehouses[0]?.id ?? '')
  const [stationId, setStationId] = useState('')
  const page = usePage<{ items: Station[] }>(stationsPath(warehouseId))
  const move = async (): Promise<void> => {
    const at = serverNow()
    const post = (path: string, body: Record<string, unknown>): Promise<void> =>
      keeping.keep({ kind: 'post', path: `/api/v1/machines/${machine.id}/${path}`, body })
    await post('moves', { warehouseId, stationId: stationId === '' ? null : stationId, at })
    if (stationId !== '' && machine.status !== 'in_service' && machine.status !== 'tagged_out' && machine.status !== 'retired')
      await post('status', { status: 'in_service', at, reason: 'found at a station by a scan' })
    const station = page.data?.items.find(({ id }) => id === stationId)
    onSaid(
      `Written down: it is ${station ? `at ${station.line} ${station.name}` : 'at no station'} now. Its care and its history go with it.`,
    )
  }
  return (
    <form
      onSubmit={(event) => {
        event.preventDefault()
        void move()
      }}
    >
      {me.warehouses.length > 1 ? (
        <>
          <label htmlFor="now-warehouse">Warehouse</label>
          <select id="now-warehouse" value={warehouseId} onChange={(event) => (setWarehouseId(event.target.value), setStationId(''))}>
            {me.warehouses.map(({ id, name }) => (
              <option key={id} value={id}>
                {name}
              </option>
            ))}
          </select>
        </>
      ) : null}
      <label htmlFor="now-station">Station where it stands now</label>
      <select id="now-station" value={stationId} onChange={(event) => setStationId(event.target.value)}>
        <option value="">at no station</option>
        {(page.data?.items ?? []).map(({ id, name, line }) => (
          <option key={id} value={id}>
            {line} {name}
          </option>
        ))}
      </select>
      {!page.data && page.error ? <p className="note">The stations are not kept on this phone: {page.error.message}</p> : null}
      <div className="stack">
        <button className="main" disabled={warehouseId === ''}>
          It is there now
        </button>
        <button type="button" onClick={onLeave}>
          Leave it as it is
        </button>
      </div>
    </form>
  )
}
