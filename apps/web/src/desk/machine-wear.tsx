/** Wear of the motor brushes in place, and how long parts will hold. */
import { useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { type Answer, call } from '../client/api.js'
import { WearChart } from '../ui/charts.js'
import { sayDay, sayNumber, sayWord } from '../ui/format.js'
import { Fault } from '../ui/parts.js'
import { useMe } from './me.js'

type Detail = Answer<'getMachine'>

export function Wear({ machine }: { machine: Detail }): ReactNode {
  const { units } = useMe().person
  const params = { machineId: machine.id }
  const parts = useQuery({ queryKey: ['machine', machine.id, 'components'], queryFn: () => call('machineComponents', { params }) })
  const dates = useQuery({ queryKey: ['machine', machine.id, 'forecasts'], queryFn: () => call('machineForecasts', { params }) })
  if (!parts.data) return parts.error ? <Fault error={parts.error} /> : null
  const brushes = parts.data.items.filter(
    ({ componentType, toDate, limits }) => componentType.key === 'motor_brush_set' && toDate === null && limits !== null,
  )
  const due = dates.data?.items.find(({ taskKey }) => taskKey === 'replace_motor_brushes') ?? null
  return (
    <>
      {brushes.map((set) => (
        <section key={set.placementId} aria-label="Wear of the motor brushes">
          <h2>Wear of the motor brushes</h2>
          <p className="soft small">
            Fitted {set.newOn === null ? 'on a day not known' : sayDay(set.newOn, machine.today ?? '')};{' '}
            {set.usedStrips === null ? 'strips since new not known' : `${sayNumber(set.usedStrips)} strips since new`}. The shorter edge
            counts. {set.limits?.stated ? '' : 'Limits are common practice, to be confirmed for this type.'}
          </p>
          <WearChart
            points={set.measurements
              .filter(({ state }) => state === 'counted')
              .map(({ measuredOn, valueMm, name }) => ({ on: measuredOn, lengthMm: valueMm, name: sayWord(name) }))}
            planMm={set.limits?.planMm ?? 9.5}
            neverBelowMm={set.limits?.neverBelowMm ?? 6.4}
            newMm={set.limits?.newMm ?? 12.7}
            newOn={set.newOn}
            due={due}
            units={units}
          />
        </section>
      ))}
      {parts.data.items.map(({ placementId, componentType, life }) =>
        life === null ? null : (
          <section key={placementId} aria-label={`How long the ${componentType.name.toLowerCase()} will hold`}>
            <h2>How long the {componentType.name.toLowerCase()} will hold</h2>
            <p>{life.sentence}</p>
            <p className="soft small">It is no due date: the look at it falls due by its own rule, and parts are ordered by it.</p>
          </section>
        ),
      )}
    </>
  )
}
