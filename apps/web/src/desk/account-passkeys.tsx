/** Passkeys: kept by a phone, a computer or a key, opened by finger, face or PIN. */
import type { ReactNode } from 'react'
import { type Answer, call } from '../client/api.js'
import { AskOnce } from '../ui/ask-once.js'
import { sayInstant } from '../ui/format.js'
import { Fault, Field } from '../ui/parts.js'
import { makePasskey, passkeysHere } from '../ui/passkeys.js'
import { AskAgain, type AskedAgain } from './account-codes.js'
import { useChange } from './use-change.js'

const ZONE = Intl.DateTimeFormat().resolvedOptions().timeZone

async function add({ form, body }: AskedAgain): Promise<void> {
  const { options } = await call('passkeyOptions', { body })
  await call('addPasskey', { body: { name: String(form.get('name')), credential: await makePasskey(options) } })
}

export function Passkeys({ factors }: { factors: Answer<'myFactors'> }): ReactNode {
  const { error, change } = useChange()
  const { passkeys, passkeyHost, passkeyOrigin, hasPassword } = factors
  const hereAtAll = passkeysHere() && (location.hostname === passkeyHost || location.hostname.endsWith(`.${passkeyHost}`))
  return (
    <section aria-labelledby="passkeys">
      <h2 id="passkeys">Passkeys</h2>
      <p>
        A passkey stays on your phone, computer or key, and signs you in by finger, face or PIN, without the password. The password goes on
        working beside it.
      </p>
      {error ? <Fault error={error} /> : null}
      {passkeys.length === 0 ? <p>You have none yet.</p> : null}
      <ul className="plain sentences">
        {passkeys.map(({ id, name, createdAt, lastUsedAt, backedUp }) => (
          <li key={id}>
            <strong>{name}</strong>
            <span className="soft">
              , added {sayInstant(createdAt, ZONE)}; {lastUsedAt ? `last used ${sayInstant(lastUsedAt, ZONE)}` : 'never used'};{' '}
              {backedUp ? 'also on your other devices, by the maker of the device' : 'on that device alone'}.{' '}
            </span>
            <AskOnce
              open="Forget it…"
              name={name}
              confirm="Forget it"
              leave="Keep it"
              onDo={() => void change(() => call('removePasskey', { params: { passkeyId: id } }))}
            >
              Nobody signs in with it any more. It can be added anew where it stays.
            </AskOnce>
          </li>
        ))}
      </ul>
      {hereAtAll ? (
        <AskAgain hasPassword={hasPassword} onSubmit={(sent) => void change(() => add(sent))}>
          <Field label="Name" hint="Where it stays: my phone, the key on my ring.">
            {(id) => <input id={id} name="name" required maxLength={60} />}
          </Field>
          <button>Add a passkey</button>
        </AskAgain>
      ) : (
        <p className="soft">
          None can be added here: passkeys need an address with a name, and https where it is not this computer. This installation’s is{' '}
          {passkeyOrigin}.
        </p>
      )}
    </section>
  )
}
