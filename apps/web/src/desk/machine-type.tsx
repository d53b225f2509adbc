/** One machine type: what is known of it, changed here, and its components. */
import { useQuery } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useState } from 'react'
import { Link, useNavigate, useParams } from 'react-router'
import { call } from '../client/api.js'
import { AskOnce } from '../ui/ask-once.js'
import { sayCount } from '../ui/format.js'
import { Bones, Fault, Heading, NoPage } from '../ui/parts.js'
import { TypeComponents } from './machine-type-components.js'
import { type Fields, fieldsOf, type MachineType, TypeFields, wordsIn } from './machine-type-fields.js'
import { mayDecide, useMe } from './me.js'
import { RecordFault, useRecordChange } from './record-change.js'
import { useChange } from './use-change.js'

export function MachineTypePage(): ReactNode {
  const me = useMe()
  const { machineTypeId = '' } = useParams()
  const params = { machineTypeId }
  const type = useQuery({ queryKey: ['type', machineTypeId], queryFn: () => call('getMachineType', { params }) })
  if (type.isPending) return <Bones lines={12} />
  if (type.error) return <NoPage title="Machine type" error={type.error} again={() => void type.refetch()} />
  const { name, machineCount, currentPlanId, currentPlanVersion } = type.data
  return (
    <>
      <Heading title={name}>{name}</Heading>
      <p>
        {sayCount(machineCount, 'machine', 'machines')} of this type.{' '}
        {currentPlanId ? <Link to={`/set-up/plans/${currentPlanId}`}>Service plan, version {currentPlanVersion}</Link> : 'No service plan.'}
      </p>
      {mayDecide(me) ? (
        <>
          <Known type={type.data} />
          <TypeComponents type={type.data} />
          {machineCount === 0 ? <Remove type={type.data} /> : null}
        </>
      ) : (
        <p>A manager or an administrator can change what is known of it.</p>
      )}
    </>
  )
}

function Known({ type }: { type: MachineType }): ReactNode {
  // What was kept is what the next change begins with.
  const [turn, setTurn] = useState(0)
  return (
    <section aria-labelledby="known">
      <h2 id="known">What is known of it</h2>
      <Change key={`${turn} ${type.id}`} type={type} onKept={() => setTurn(turn + 1)} />
      <p role="status">{turn > 0 ? 'Kept. Dates of its machines are worked out anew.' : ''}</p>
    </section>
  )
}

function Change({ type, onKept }: { type: MachineType; onKept: () => void }): ReactNode {
  const unit = useMe().person.units === 'us' ? 'in' : 'mm'
  const params = { machineTypeId: type.id }
  const [began] = useState(type)
  const { opened, now, error, keep } = useRecordChange<Fields>({
    record: type,
    read: () => call('getMachineType', { params }),
    send: (body) => call('patchMachineType', { params, body }),
    onEnd: onKept,
  })
  function submit(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    keep(fieldsOf(new FormData(event.currentTarget), began, unit))
  }
  return (
    <form onSubmit={submit} aria-labelledby="known">
      <TypeFields type={began} unit={unit} />
      <p className="small soft">
        Drive, supply, heater and felt rewrite the service plan where it is still the product’s own; a plan that you wrote stays as it is.
      </p>
      <RecordFault error={error} opened={opened} now={now} words={wordsIn(unit)} />
      <button className="main">Keep</button>
    </form>
  )
}

function Remove({ type }: { type: MachineType }): ReactNode {
  const navigate = useNavigate()
  const { error, change } = useChange()
  const params = { machineTypeId: type.id }
  const remove = (): void => void change(() => call('removeMachineType', { params }).then(() => navigate('/set-up')))
  return (
    <section aria-label="Remove it" style={{ marginTop: 24 }}>
      {error ? <Fault error={error} /> : null}
      <AskOnce open="Remove…" name={type.name} confirm="Remove it" leave="Leave it" onDo={remove}>
        For a type that was entered by mistake: no machine is of it. Its service plan goes, too, and so does who was shown care on it.
      </AskOnce>
    </section>
  )
}
