/** What was mailed to whom, and what became of it. */
import { useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { Link, useSearchParams } from 'react-router'
import { call } from '../client/api.js'
import { sayInstant, sayWord } from '../ui/format.js'
import { More, useLongList } from '../ui/long-list.js'
import { Bones, Fault, Heading } from '../ui/parts.js'
import { useMe } from './me.js'

export function Messages(): ReactNode {
  const [search] = useSearchParams()
  const state = search.get('state')
  const query = { limit: 100, ...(state ? { state } : {}) }
  const list = useLongList(['messages', query], (from) => call('listMessages', { query: { ...query, ...from } }))
  return (
    <>
      <Heading title="Mails">Mails</Heading>
      <p>
        A mail is uncertain when the connection broke between the mail server’s acceptance and our record of it. It is never sent again
        blindly; what it said comes once more in the next digest, marked as such.
      </p>
      <CameBack />
      <h2>What was mailed</h2>
      {list.isPending ? <Bones /> : null}
      {list.error ? <Fault error={list.error} again={() => void list.refetch()} /> : null}
      {list.data && list.items.length === 0 ? <p className="soft">No mail of this kind.</p> : null}
      <div className="wide">
        <table className="stacked">
          <thead>
            <tr>
              <th>Day</th>
              <th>To</th>
              <th>Subject</th>
              <th>State</th>
            </tr>
          </thead>
          <tbody>
            {list.items.map(({ id, localDay, person, subject, state: became, lastError }) => (
              <tr key={id}>
                <td>{localDay}</td>
                <td data-label="To">{person.name}</td>
                <td>{subject ?? 'not written yet'}</td>
                <td>
                  {sayWord(became)}
                  {lastError ? <div className="soft">{lastError}</div> : null}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <More list={list} />
    </>
  )
}

/** What came back of late: to whom, why, and what followed. */
function CameBack(): ReactNode {
  const me = useMe()
  const list = useQuery({ queryKey: ['bounces'], queryFn: () => call('listBounces', { query: { limit: 20 } }) })
  if (list.error) return <Fault error={list.error} />
  if (!list.data || list.data.items.length === 0) return null
  const zone = me.warehouses[0]?.zone ?? 'UTC'
  return (
    <section aria-labelledby="back">
      <h2 id="back">What came back</h2>
      <ul className="plain sentences">
        {list.data.items.map(({ id, person, address, statusCode, diagnostic, suppressed, receivedAt }) => (
          <li key={id}>
            {sayInstant(receivedAt, zone)}: mail to {address} could not be delivered{statusCode ? ` (${statusCode})` : ''}.{' '}
            {suppressed ? (
              <>
                Nothing more goes there; the other person named was told.{' '}
                <Link to={`/set-up/people/${person.id}/mail`}>Mail of {person.name}</Link>
              </>
            ) : (
              'It may arrive another time; after five in a week nothing more goes there.'
            )}
            {diagnostic ? <div className="soft small">{diagnostic}</div> : null}
          </li>
        ))}
      </ul>
    </section>
  )
}
