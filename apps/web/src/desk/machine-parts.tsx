/** The parts that care is kept for: what is in the machine and how old it is, what came out; taken out, fitted and put right here. */
import { useQuery } from '@tanstack/react-query'
import { type ReactNode, useId, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { sayDay, sayNumber, sayWord } from '../ui/format.js'
import { Bones, Fault } from '../ui/parts.js'
import { FitPart, PutPartRight, Replaced, TakeOut } from './machine-part-forms.js'
import { mayDecide, useMe } from './me.js'

type Detail = Answer<'getMachine'>
type Part = Answer<'machineComponents'>['items'][number]

export function Parts({ machine }: { machine: Detail }): ReactNode {
  const me = useMe()
  const parts = useQuery({
    queryKey: ['machine', machine.id, 'components'],
    queryFn: () => call('machineComponents', { params: { machineId: machine.id } }),
  })
  const items = parts.data?.items ?? []
  const inPlace = items.filter(({ toDate }) => toDate === null)
  const out = items.filter(({ toDate }) => toDate !== null)
  const standing = new Set(inPlace.map(({ componentType }) => componentType.key))
  const gone = [...new Map(out.map(({ componentType }) => [componentType.key, componentType])).values()].filter(
    ({ key }) => !standing.has(key),
  )
  const one = (part: Part): ReactNode => <OnePart key={part.placementId} part={part} machine={machine} decides={mayDecide(me)} />
  return (
    <section aria-labelledby="parts-in-it">
      <h2 id="parts-in-it">Parts that care is kept for</h2>
      {parts.isPending ? <Bones lines={4} /> : null}
      {parts.error ? <Fault error={parts.error} again={() => void parts.refetch()} /> : null}
      {parts.data && items.length === 0 ? <p className="soft">None is in the books.</p> : null}
      <ul className="plain sentences">{inPlace.map(one)}</ul>
      {mayDecide(me) ? gone.map((kind) => <FitPart key={kind.key} machine={machine} kind={kind} />) : null}
      {out.length > 0 ? (
        <>
          <h3>Taken out</h3>
          <ul className="plain sentences">{out.map(one)}</ul>
        </>
      ) : null}
    </section>
  )
}

function words(part: Part, today: string): string {
  const { newOn, fromDate, toDate, removalReason, usedStrips } = part
  const fitted =
    fromDate === null
      ? newOn === null
        ? 'since when is not known'
        : `new ${sayDay(newOn, today)}`
      : newOn === fromDate
        ? `fitted new ${sayDay(fromDate, today)}`
        : `fitted ${sayDay(fromDate, today)}, ${newOn === null ? 'used; how old is not known' : `new ${sayDay(newOn, today)}`}`
  const used = usedStrips === null ? '' : `, ${sayNumber(usedStrips)} strips`
  return toDate === null ? `${fitted}${used}` : `out ${sayDay(toDate, today)} (${sayWord(removalReason ?? 'unknown')}), ${fitted}${used}`
}

type What = 'replaced' | 'out' | 'right'
const CHOICES: readonly (readonly [What, string])[] = [
  ['replaced', 'It was replaced'],
  ['out', 'It was taken out'],
  ['right', 'Its days are wrong'],
]

function OnePart({ part, machine, decides }: { part: Part; machine: Detail; decides: boolean }): ReactNode {
  const [open, setOpen] = useState(false)
  const [what, setWhat] = useState<What>(part.toDate === null ? 'replaced' : 'right')
  const which = useId()
  const name = part.componentType.name
  const done = (): void => setOpen(false)
  const Form = FORMS[what]
  return (
    <li>
      <strong>{name}</strong>: {words(part, machine.today ?? '')}.{part.note === '' ? '' : ` “${part.note}”`}{' '}
      {decides ? (
        <button
          className="small no-print"
          aria-label={`${name}${part.toDate === null ? '' : `, taken out ${part.toDate}`}: change`}
          aria-expanded={open}
          onClick={() => setOpen(!open)}
        >
          Change…
        </button>
      ) : null}
      {open && part.toDate === null ? (
        <div className="field">
          <label htmlFor={which}>What happened</label>
          <select id={which} value={what} onChange={(event) => setWhat(event.target.value as What)}>
            {CHOICES.map(([value, says]) => (
              <option key={value} value={value}>
                {says}
              </option>
            ))}
          </select>
        </div>
      ) : null}
      {open ? <Form part={part} machine={machine} onDone={done} /> : null}
    </li>
  )
}

const FORMS = { replaced: Replaced, out: TakeOut, right: PutPartRight } as const
