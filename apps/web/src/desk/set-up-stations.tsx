/** Stations of a warehouse in walking order, with the machines that stand there. */
import { Fragment, type ReactNode, useEffect, useRef, useState } from 'react'
import { Link } from 'react-router'
import { call } from '../client/api.js'
import { sayTick } from '../ui/format.js'
import { Bones, Fault } from '../ui/parts.js'
import { AddStation, ChangeStation, STOPS } from './station-form.js'
import { type Hall, useChange } from './use-change.js'
import { type Station, useStations } from './whole-lists.js'

const COLUMNS = 6

export function Stations({ hall, decides }: { hall: Hall; decides: boolean }): ReactNode {
  const stations = useStations(hall.id)
  return (
    <section aria-labelledby="stations">
      <h2 id="stations" tabIndex={-1}>
        Stations in walking order
      </h2>
      {stations.isPending ? <Bones /> : null}
      {stations.error ? <Fault error={stations.error} again={() => void stations.refetch()} /> : null}
      {stations.data ? <List stations={stations.data} decides={decides} /> : null}
      {decides && stations.data ? <AddStation warehouseId={hall.id} next={(stations.data.at(-1)?.walkingOrder ?? 0) + 1} /> : null}
    </section>
  )
}

type Way = 'earlier' | 'later'

function List({ stations, decides }: { stations: readonly Station[]; decides: boolean }): ReactNode {
  const { error, change } = useChange()
  const [open, setOpen] = useState<string | null>(null)
  const table = useRef<HTMLTableElement>(null)
  /** The button that shall have the focus once the list is read anew: its row may have moved, or its form may be gone. */
  const wanted = useRef<string | null>(null)
  const [moved, setMoved] = useState<string | null>(null)
  useEffect(() => {
    if (wanted.current === null) return
    table.current?.querySelector<HTMLButtonElement>(wanted.current)?.focus()
    wanted.current = null
  }, [stations, open])
  if (stations.length === 0) return <p className="soft">No station yet. Machines may be registered without one and moved later.</p>
  const walk = ({ id: stationId }: Station, to: Way): void => {
    setMoved(stationId)
    wanted.current = `[data-station="${stationId}"] .${to}:enabled, [data-station="${stationId}"] .walk:enabled`
    void change(() => call('walkStation', { params: { stationId }, body: { to } }))
  }
  const end = (): void => {
    wanted.current = `[data-station="${open}"] .change`
    setOpen(null)
  }
  return (
    <>
      {error ? <Fault error={error} /> : null}
      <p role="status" className="seen-by-readers">
        {sayPlace(stations, moved)}
      </p>
      <div className="wide">
        <table className="stacked" ref={table}>
          <thead>
            <tr>
              <th className="figure">Walk</th>
              <th>Station</th>
              <th>Machines</th>
              <th>If it stops</th>
              <th className="figure">Strips a carton</th>
              <th>{decides ? <span className="seen-by-readers">Change</span> : null}</th>
            </tr>
          </thead>
          <tbody>
            {stations.map((station, index) => (
              <Fragment key={station.id}>
                <Row station={station}>
                  {decides ? (
                    <>
                      <Step to="earlier" station={station} end={index === 0} onStep={walk} />{' '}
                      <Step to="later" station={station} end={index === stations.length - 1} onStep={walk} />{' '}
                      <button className="small change" aria-label={`Change… ${station.name}`} onClick={() => setOpen(station.id)}>
                        Change…
                      </button>
                    </>
                  ) : null}
                </Row>
                {open === station.id ? (
                  <tr>
                    <td colSpan={COLUMNS}>
                      <ChangeStation station={station} onEnd={end} onGone={() => document.getElementById('stations')?.focus()} />
                    </td>
                  </tr>
                ) : null}
              </Fragment>
            ))}
          </tbody>
        </table>
      </div>
    </>
  )
}

function sayPlace(stations: readonly Station[], stationId: string | null): string {
  const index = stations.findIndex(({ id }) => id === stationId)
  return index < 0 ? '' : `${stations[index]?.name} is number ${index + 1} of ${stations.length} in the walk.`
}

const STEP = { earlier: 'Earlier', later: 'Later' } as const

function Step({
  to,
  station,
  end,
  onStep,
}: {
  to: Way
  station: Station
  end: boolean
  onStep: (station: Station, to: Way) => void
}): ReactNode {
  return (
    <button
      className={`small walk ${to}`}
      disabled={end}
      aria-label={`${STEP[to]} in the walk: ${station.name}`}
      onClick={() => onStep(station, to)}
    >
      {STEP[to]}
    </button>
  )
}

function Row({ station, children }: { station: Station; children: ReactNode }): ReactNode {
  const { id, walkingOrder, line, name, machines, ifStopped, stripsPerCarton } = station
  return (
    <tr data-station={id}>
      <td className="figure" data-label="Walk">
        {walkingOrder}
      </td>
      <td>
        {line} {name}
      </td>
      <td data-label="Machines">
        {machines.length === 0 ? <span className="soft">none</span> : null}
        {machines.map((machine) => (
          <Link key={machine.id} to={`/machines/${machine.id}`} style={{ marginRight: 12 }}>
            {machine.labelCode}
          </Link>
        ))}
      </td>
      <td data-label="If it stops">{STOPS[ifStopped]}</td>
      <td className="figure" data-label="Strips a carton">
        {stripsPerCarton === null ? <span className="soft">not known</span> : sayTick(stripsPerCarton, 2)}
      </td>
      <td className="no-print">{children}</td>
    </tr>
  )
}
