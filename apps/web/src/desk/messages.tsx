/** What was mailed to whom, and what became of it. */
import { useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { useSearchParams } from 'react-router'
import { call } from '../client/api.js'
import { sayWord } from '../ui/format.js'
import { Bones, Fault, Heading } from '../ui/parts.js'

export function Messages(): ReactNode {
  const [search] = useSearchParams()
  const state = search.get('state')
  const query = { limit: 100, ...(state ? { state } : {}) }
  const list = useQuery({ queryKey: ['messages', query], queryFn: () => call('listMessages', { query }) })
  return (
    <>
      <Heading title="Mails">Mails</Heading>
      <p>
        A mail is uncertain when the connection broke between the mail server’s acceptance and our record of it. It is never sent again
        blindly; what it said comes once more in the next digest, marked as such.
      </p>
      {list.isPending ? <Bones /> : null}
      {list.error ? <Fault error={list.error} /> : null}
      {list.data?.items.length === 0 ? <p className="soft">No mail of this kind.</p> : null}
      <div className="wide">
        <table>
          <thead>
            <tr>
              <th>Day</th>
              <th>To</th>
              <th>Subject</th>
              <th>State</th>
            </tr>
          </thead>
          <tbody>
            {list.data?.items.map(({ id, localDay, person, subject, state: became, lastError }) => (
              <tr key={id}>
                <td>{localDay}</td>
                <td>{person.name}</td>
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
    </>
  )
}
