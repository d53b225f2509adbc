/** Passkeys in this browser. The library is loaded only when one is used. */
import type { PublicKeyCredentialCreationOptionsJSON, PublicKeyCredentialRequestOptionsJSON } from '@simplewebauthn/browser'
import { InWords } from '../client/problems.js'

type Options = Record<string, unknown>
type Made = Awaited<ReturnType<typeof import('@simplewebauthn/browser').startRegistration>>
type Answered = Awaited<ReturnType<typeof import('@simplewebauthn/browser').startAuthentication>>

/** Browsers bind passkeys to a name; a bare number as address has none, and without TLS there are none. */
export function passkeysHere(): boolean {
  return isSecureContext && typeof PublicKeyCredential === 'function' && !/^\d+(\.\d+){3}$|^\[/.test(location.hostname)
}

function inWords(error: unknown): InWords {
  const { name, code } = error as { name?: string; code?: string }
  if (name === 'InvalidStateError' || code === 'ERROR_AUTHENTICATOR_PREVIOUSLY_REGISTERED')
    return new InWords('This device keeps a passkey of yours already.')
  if (name === 'SecurityError') return new InWords('Passkeys of this installation work at its own address alone. Open that one.')
  if (name === 'NotAllowedError' || name === 'AbortError')
    return new InWords('No passkey was used. It was cancelled, took too long, or this device has none for here.')
  return new InWords('This device could not use a passkey. Sign in with the password.')
}

export async function makePasskey(options: Options): Promise<Made> {
  const { startRegistration } = await import('@simplewebauthn/browser')
  return startRegistration({ optionsJSON: options as unknown as PublicKeyCredentialCreationOptionsJSON }).catch((error: unknown) => {
    throw inWords(error)
  })
}

export async function answerByPasskey(options: Options): Promise<Answered> {
  const { startAuthentication } = await import('@simplewebauthn/browser')
  return startAuthentication({ optionsJSON: options as unknown as PublicKeyCredentialRequestOptionsJSON }).catch((error: unknown) => {
    throw inWords(error)
  })
}
