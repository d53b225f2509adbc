/** One-time codes beside the password: begun with a picture to scan, counted from the first code on, with codes for when the phone is gone. */
import { type FormEvent, type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { sayCount, sayInstant } from '../ui/format.js'
import { Fault, Field } from '../ui/parts.js'
import { useChange } from './use-change.js'

type Factors = Answer<'myFactors'>
const ZONE = Intl.DateTimeFormat().resolvedOptions().timeZone

/** The password is asked again before anything of this changes; who has none shows it by a fresh sign-in. */
export function AskAgain({
  hasPassword,
  children,
  onSubmit,
}: {
  hasPassword: boolean
  children: ReactNode
  onSubmit: (sent: AskedAgain) => void
}): ReactNode {
  function submit(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    const pressed = (event.nativeEvent as SubmitEvent).submitter as HTMLButtonElement | null
    const currentPassword = form.get('current')
    onSubmit({ form, pressed: pressed?.value ?? '', body: typeof currentPassword === 'string' ? { currentPassword } : {} })
  }
  return (
    <form onSubmit={submit}>
      {hasPassword ? (
        <Field label="Present password">
          {(id) => <input id={id} name="current" type="password" autoComplete="current-password" required maxLength={200} />}
        </Field>
      ) : null}
      {children}
    </form>
  )
}
export interface AskedAgain {
  form: FormData
  pressed: string
  body: { currentPassword?: string }
}

export function Codes({ factors }: { factors: Factors }): ReactNode {
  const { error, change } = useChange()
  const [begun, setBegun] = useState<Answer<'beginCodes'> | null>(null)
  const [shown, setShown] = useState<string[] | null>(null)
  const show = ({ recoveryCodes }: { recoveryCodes: string[] }): void => {
    setBegun(null)
    setShown(recoveryCodes)
  }
  return (
    <section aria-labelledby="codes">
      <h2 id="codes">One-time codes</h2>
      {error ? <Fault error={error} /> : null}
      {shown ? <RecoveryCodes codes={shown} onKept={() => setShown(null)} /> : null}
      {factors.codesSince === null ? (
        <>
          <p>
            Off: the password alone signs you in. With codes on it also takes the six digits that an authenticator program on your phone
            shows, so a password that somebody learnt opens nothing.
          </p>
          {begun ? (
            <Confirm begun={begun} onCode={(code) => void change(() => call('confirmCodes', { body: { code } }).then(show))} />
          ) : (
            <AskAgain
              hasPassword={factors.hasPassword}
              onSubmit={({ body }) => void change(() => call('beginCodes', { body }).then(setBegun))}
            >
              <button>Turn codes on …</button>
            </AskAgain>
          )}
        </>
      ) : (
        <>
          <p>
            On since {sayInstant(factors.codesSince, ZONE)}. {sayCount(factors.recoveryCodesLeft, 'recovery code is', 'recovery codes are')}{' '}
            left.
            {factors.recoveryCodesLeft < 3 ? ' Make new ones before they run out.' : ''}
          </p>
          <details>
            <summary>New recovery codes, another phone, or turn them off …</summary>
            <AskAgain
              hasPassword={factors.hasPassword}
              onSubmit={({ pressed, body }) =>
                void change(() => (pressed === 'renew' ? call('renewRecoveryCodes', { body }).then(show) : call('stopCodes', { body })))
              }
            >
              <div className="row">
                <button value="renew">Make new recovery codes</button>
                <button value="stop">Turn codes off</button>
              </div>
            </AskAgain>
            <p className="soft">For another phone: turn them off, then on again with the new one.</p>
          </details>
        </>
      )}
    </section>
  )
}

function Confirm({ begun, onCode }: { begun: Answer<'beginCodes'>; onCode: (code: string) => void }): ReactNode {
  function submit(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    onCode(String(new FormData(event.currentTarget).get('code')))
  }
  return (
    <form onSubmit={submit}>
      <p>Scan this with the authenticator program on your phone, then type the six digits that it shows.</p>
      <img
        src={begun.picture}
        width={240}
        height={240}
        alt="The secret as a code to scan; below it stands in letters."
        style={{ background: '#fff' }}
      />
      <p>
        Cannot be scanned? Type this secret into the program:{' '}
        <code style={{ overflowWrap: 'anywhere' }}>{begun.secret.match(/.{4}/g)?.join(' ')}</code>
      </p>
      <Field label="The six digits">
        {(id) => <input id={id} name="code" inputMode="numeric" autoComplete="one-time-code" required minLength={6} maxLength={8} />}
      </Field>
      <button className="main">Turn codes on</button>
    </form>
  )
}

function RecoveryCodes({ codes, onKept }: { codes: readonly string[]; onKept: () => void }): ReactNode {
  return (
    <div className="note" role="status">
      <p>
        <strong>Your recovery codes.</strong> Each opens your account once when the phone is gone. Print them or write them down now: they
        are not shown again. Earlier ones no longer work.
      </p>
      <ul className="plain" style={{ columns: '12rem' }}>
        {codes.map((code) => (
          <li key={code}>
            <code>{code}</code>
          </li>
        ))}
      </ul>
      <button style={{ marginTop: 12 }} onClick={onKept}>
        I have them
      </button>
    </div>
  )
}
