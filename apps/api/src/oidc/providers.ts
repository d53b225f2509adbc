/** The organisations' own providers, as the operator set them; what a provider says of itself is asked once an hour. */
import { UnavailableError } from '@tapewarden/platform'
import type { OidcProvider } from '@tapewarden/platform'
import { allowInsecureRequests, type Configuration, discovery } from 'openid-client'

const KEPT_MS = 3_600_000
const PATIENCE_SECONDS = 10

export class Providers {
  private readonly known = new Map<string, { at: number; configuration: Promise<Configuration> }>()

  constructor(readonly all: readonly OidcProvider[]) {}

  /** @throws UnavailableError where it does not answer */
  async configurationOf(provider: OidcProvider): Promise<Configuration> {
    const kept = this.known.get(provider.key)
    if (kept && performance.now() - kept.at < KEPT_MS) return kept.configuration
    const configuration = this.discover(provider)
    this.known.set(provider.key, { at: performance.now(), configuration })
    // One that failed is asked anew next time.
    configuration.catch(() => this.known.delete(provider.key))
    return configuration
  }

  private async discover({ issuer, clientId, clientSecret, name }: OidcProvider): Promise<Configuration> {
    // Without TLS only on this computer; the settings refuse anything else.
    const execute = issuer.startsWith('http:') ? [allowInsecureRequests] : []
    try {
      return await discovery(new URL(issuer), clientId, clientSecret, undefined, { execute, timeout: PATIENCE_SECONDS })
    } catch {
      throw new UnavailableError(
        'PROVIDER_AWAY',
        `The sign-in of ${name} does not answer just now. Try again, or sign in with the password.`,
      )
    }
  }
}
