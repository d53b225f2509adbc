/** Where an organisation's own sign-in sends the browser back to. */
import { type ReactNode, useEffect, useRef, useState } from 'react'
import { call } from '../client/api.js'
import { Bones, Fault, Heading } from './parts.js'

/** What came back leaves the address bar, and so the history, as soon as it was read. */
function takeSearch(): string {
  const search = location.search.slice(1)
  history.replaceState(null, '', location.pathname)
  return search
}

export function SignedInElsewhere(): ReactNode {
  const [search] = useState(takeSearch)
  const [error, setError] = useState<unknown>(null)
  const sent = useRef(false)
  useEffect(() => {
    if (sent.current) return
    sent.current = true
    call('finishSignIn', { body: { search: search === '' ? '-' : search } }).then(() => location.replace('/'), setError)
  }, [search])
  return (
    <main className="hand" style={{ paddingTop: 48 }}>
      <Heading title="Signing in">Signing in</Heading>
      {error ? (
        <>
          <Fault error={error} />
          <a className="button" href="/">
            Back to sign-in
          </a>
        </>
      ) : (
        <Bones lines={3} />
      )}
    </main>
  )
}
