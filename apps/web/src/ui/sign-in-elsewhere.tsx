/** Sign-ins of organisations' own providers, one button each; nothing where there are none. */
import { type ReactNode, useEffect, useState } from 'react'
import { type Answer, call } from '../client/api.js'

export function SignInElsewhere({ onError }: { onError: (error: unknown) => void }): ReactNode {
  const [ways, setWays] = useState<Answer<'listSignIns'>['items']>([])
  useEffect(() => {
    // Without an answer the password still signs in.
    call('listSignIns').then(
      ({ items }) => setWays(items),
      () => undefined,
    )
  }, [])
  const go = (signInKey: string): void => {
    call('beginSignIn', { params: { signInKey } }).then(({ url }) => location.assign(url), onError)
  }
  return ways.map(({ key, name }) => (
    <p key={key}>
      <button type="button" onClick={() => go(key)}>
        Sign in with {name}
      </button>
    </p>
  ))
}
