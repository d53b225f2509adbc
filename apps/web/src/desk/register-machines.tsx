/** Many machines of one type in one form: counted on or by the labels that they have; then their labels, and a way back. */
import { useQuery, useQueryClient } from '@tanstack/react-query'
import { type ReactNode, useState } from 'react'
import { Link, useSearchParams } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayCount } from '../ui/format.js'
import { Fault, Field, Heading } from '../ui/parts.js'
import { saveFile } from '../ui/save-file.js'
import { useMe } from './me.js'
import { NoWarehouseYet } from './no-warehouse.js'
import { TypeFields, typeOf } from './register-type.js'
import { useChange } from './use-change.js'
import { useStep } from './use-step.js'
import { useSubmit } from './use-submit.js'

interface Made {
  machineIds: string[]
  words: string
  /** Only what was counted on is taken back in one go. */
  changeId: string | null
}
const MOST = 200

async function register(form: FormData, machineTypeId: string): Promise<Made> {
  const warehouseId = String(form.get('warehouseId'))
  const commissionedOn = String(form.get('commissionedOn')) || null
  const labels = String(form.get('labels') ?? '')
    .split(/[\s,;]+/)
    .filter(Boolean)
  if (labels.length > 0) {
    const placement = { warehouseId }
    const machines = labels.map((labelCode) => ({ labelCode, serialNumber: labelCode, machineTypeId, commissionedOn, placement }))
    const { items } = await call('createMachines', { body: { machines } })
    return { machineIds: items.map(({ id }) => id), words: `${sayCount(items.length, 'machine', 'machines')} registered`, changeId: null }
  }
  const body = { machineTypeId, warehouseId, count: Number(form.get('count')), labelPrefix: String(form.get('prefix')), commissionedOn }
  const { change, machines } = await call('registerCounted', { body })
  const span = change.words.replace('registered: ', '')
  return {
    machineIds: machines.map(({ id }) => id),
    words: `${sayCount(machines.length, 'machine', 'machines')} registered, ${span}`,
    changeId: change.id,
  }
}

export function RegisterMachines(): ReactNode {
  const me = useMe()
  const queries = useQueryClient()
  const [search] = useSearchParams()
  const types = useQuery({ queryKey: ['types'], queryFn: () => call('listMachineTypes') })
  const [made, setMade] = useState<Made | null>(null)
  const [newType, setNewType] = useState(false)
  const known = types.data?.items ?? []
  const typeIsNew = newType || (types.data !== undefined && known.length === 0)
  const typeMade = useStep<Answer<'createMachineType'>>()
  const makeType = (body: ReturnType<typeof typeOf>) => typeMade(body, () => call('createMachineType', { body }))
  const { error, busy, submit } = useSubmit(async (form) => {
    const machineTypeId = typeIsNew ? (await makeType(typeOf(form))).id : String(form.get('machineTypeId'))
    setMade(await register(form, machineTypeId))
    setNewType(false)
    await queries.invalidateQueries()
    scrollTo(0, 0)
  })
  if (me.warehouses.length === 0)
    return (
      <>
        <Heading title="Register machines">Register machines of one type</Heading>
        <NoWarehouseYet />
      </>
    )
  return (
    <>
      <Heading title="Register machines">Register machines of one type</Heading>
      {error ? <Fault error={error} /> : null}
      {types.error ? <Fault error={types.error} again={() => void types.refetch()} /> : null}
      {made ? <Registered made={made} onUndone={() => setMade(null)} /> : null}
      <form onSubmit={submit}>
        <Field label="Warehouse">
          {(id) => (
            <select id={id} name="warehouseId" defaultValue={search.get('warehouseId') ?? me.warehouses[0]?.id}>
              {me.warehouses.map((hall) => (
                <option key={hall.id} value={hall.id}>
                  {hall.name}
                </option>
              ))}
            </select>
          )}
        </Field>
        {typeIsNew ? <TypeFields /> : <TypeChoice types={known} />}
        {known.length > 0 ? (
          <p>
            <button type="button" onClick={() => setNewType(!newType)}>
              {newType ? 'Choose a known type' : 'Another type…'}
            </button>
          </p>
        ) : null}
        <HowMany />
        <Field label="Commissioned on" hint="Leave empty where it is not known.">
          {(id) => <input id={id} name="commissionedOn" type="date" />}
        </Field>
        <button className="main" disabled={busy || types.isPending}>
          {busy ? 'Registering …' : 'Register'}
        </button>
      </form>
    </>
  )
}

function TypeChoice({ types }: { types: Answer<'listMachineTypes'>['items'] }): ReactNode {
  return (
    <Field label="Type">
      {(id) => (
        <select id={id} name="machineTypeId">
          {types.map((type) => (
            <option key={type.id} value={type.id}>
              {type.name}
            </option>
          ))}
        </select>
      )}
    </Field>
  )
}

/** Labels are counted on unless the machines have some already. */
function HowMany(): ReactNode {
  const [theyHave, setTheyHave] = useState(false)
  return (
    <>
      {theyHave ? (
        <Field label="Label codes" hint="One a machine, parted by spaces or lines, as they stand on the machines.">
          {(id) => <textarea id={id} name="labels" required />}
        </Field>
      ) : (
        <>
          <Field label="How many">
            {(id) => <input id={id} name="count" type="number" min={1} max={MOST} step={1} required inputMode="numeric" />}
          </Field>
          <Field label="Labels begin with" hint="The number behind it is counted on: D-001, D-002 and so on.">
            {(id) => <input id={id} name="prefix" defaultValue="D-" maxLength={29} pattern="[A-Za-z0-9][A-Za-z0-9_\-]*" required />}
          </Field>
        </>
      )}
      <p>
        <button type="button" onClick={() => setTheyHave(!theyHave)}>
          {theyHave ? 'Count labels on instead' : 'They have labels already…'}
        </button>
      </p>
    </>
  )
}

function Registered({ made, onUndone }: { made: Made; onUndone: () => void }): ReactNode {
  const { error, change } = useChange()
  const [printing, setPrinting] = useState(false)
  const print = (): void => {
    setPrinting(true)
    void change(() => call('printLabels', { body: { machineIds: made.machineIds } }).then(saveFile)).finally(() => setPrinting(false))
  }
  const undo = (fleetChangeId: string): void => void change(() => call('undoFleetChange', { params: { fleetChangeId } }).then(onUndone))
  return (
    <section className="note" aria-label="Registered">
      <p role="status">
        {made.words}. Nothing is late before its first look. <Link to="/machines?order=label">See them</Link>
      </p>
      {error ? <Fault error={error} /> : null}
      <div className="row">
        <button className="main" disabled={printing} onClick={print}>
          {printing ? 'Drawing …' : `${sayCount(made.machineIds.length, 'label', 'labels')} as PDF`}
        </button>
        {made.changeId === null ? null : <button onClick={() => undo(made.changeId ?? '')}>Take it back</button>}
      </div>
    </section>
  )
}
