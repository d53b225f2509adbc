/** Before somebody is let go: which work is in their hands, who could take it over, and where reminders go to them. */
import { useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { Link } from 'react-router'
import { call } from '../client/api.js'
import { readPages } from '../client/pages.js'
import { AskOnce } from '../ui/ask-once.js'
import { sayCount, sayList } from '../ui/format.js'
import { AT_A_TECHNICIAN, sayOrdersLeft } from './orders-left.js'
import { type Person, usePeople } from './whole-lists.js'

export function DisablePerson({ person, onDisable }: { person: Person; onDisable: () => void }): ReactNode {
  return (
    <AskOnce open="Disable…" name={person.name} confirm="Disable, and end their sessions" leave="Let them in as before" onDo={onDisable}>
      <Follows person={person} />
    </AskOnce>
  )
}

function Follows({ person }: { person: Person }): ReactNode {
  const people = usePeople()
  const query = { technicianId: person.id, state: AT_A_TECHNICIAN, limit: 200 }
  const orders = useQuery({
    queryKey: ['work-orders', 'left-by', person.id],
    queryFn: () => readPages((from) => call('listWorkOrders', { query: { ...query, ...from } })),
    staleTime: 0,
  })
  const halls = useQuery({ queryKey: ['warehouses'], queryFn: () => call('listWarehouses') })
  const error = orders.error ?? halls.error ?? people.error
  if (error) return <span role="alert">What is in their hands cannot be read just now. It would stay there.</span>
  if (!orders.data || !halls.data || !people.data) return <span role="status">Looking at what is in their hands …</span>
  const told = halls.data.items.filter(({ firstPersonId, secondPersonId }) => [firstPersonId, secondPersonId].includes(person.id))
  return (
    <>
      <span role="status">{person.name} can no longer sign in, and is signed out everywhere at once. </span>
      {orders.data.length === 0 ? (
        'No work order is in their hands.'
      ) : (
        <>
          <Link to={`/work?technicianId=${person.id}&state=${encodeURIComponent(AT_A_TECHNICIAN)}`}>
            {sayCount(orders.data.length, 'work order is', 'work orders are')} in their hands
          </Link>
          , and {orders.data.length === 1 ? 'stays' : 'stay'} there, done by nobody, until you give{' '}
          {orders.data.length === 1 ? 'it' : 'them'} to somebody else. {sayOrdersLeft(orders.data, people.data, person.id).join(' ')}
        </>
      )}
      {told.length === 0
        ? ''
        : ` Reminders of ${sayList(told.map(({ name }) => name))} go to them: name somebody else there, in Set-up under Who is told.`}
    </>
  )
}
