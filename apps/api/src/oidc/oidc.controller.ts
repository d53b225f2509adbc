import { Controller, Inject } from '@nestjs/common'
import { NotFoundError, type OidcProvider } from '@tapewarden/platform'
import type { RouteResult, Routes } from '@tapewarden/shared'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { SignIns } from '../sessions/sign-ins.js'
import { type Limit, Tries } from '../sessions/tries.js'
import { SETTINGS } from '../use/tokens.js'
import { Work } from '../use/work.js'
import { begin, BEGUN_LASTS_SECONDS, claimsOf, findHere, noteSignIn, readBegun } from './oidc.js'
import { Providers } from './providers.js'

const COOKIE = 'tapewarden_elsewhere'
const BY_ADDRESS: Limit = { name: 'sign-in elsewhere by address', most: 60, windowSeconds: 300 }

@Controller()
export class OidcController {
  private readonly providers: Providers

  constructor(
    private readonly work: Work,
    private readonly signIns: SignIns,
    private readonly tries: Tries,
    @Inject(SETTINGS)
    private readonly settings: { secretKey: string; publicUrl: string; secureCookies: boolean; oidcProviders: readonly OidcProvider[] },
  ) {
    this.providers = new Providers(settings.oidcProviders)
  }

  private providerOf(key: string): OidcProvider {
    const provider = this.providers.all.find((one) => one.key === key)
    if (!provider) throw new NotFoundError('sign-in')
    return provider
  }

  private get cookie() {
    return { httpOnly: true, sameSite: 'lax', secure: this.settings.secureCookies, path: '/api/v1/session' } as const
  }

  @Operation('listSignIns')
  list(): RouteResult<Routes['listSignIns']> {
    return { items: this.providers.all.map(({ key, name }) => ({ key, name })) }
  }

  @Operation('beginSignIn')
  async begin(@Asked() call: Call<'beginSignIn'>): Promise<RouteResult<Routes['beginSignIn']>> {
    await this.tries.take({ limit: BY_ADDRESS, by: call.request.ip })
    const provider = this.providerOf(call.params.signInKey)
    const { url, kept } = await begin(await this.providers.configurationOf(provider), provider, this.settings)
    void call.reply.setCookie(COOKIE, kept, { ...this.cookie, maxAge: BEGUN_LASTS_SECONDS })
    return { url }
  }

  /** The cookie goes at once: what came back counts once. */
  @Operation('finishSignIn')
  async finish(@Asked() call: Call<'finishSignIn'>): Promise<RouteResult<Routes['finishSignIn']>> {
    await this.tries.take({ limit: BY_ADDRESS, by: call.request.ip })
    const kept = call.request.cookies[COOKIE]
    void call.reply.clearCookie(COOKIE, this.cookie)
    const begun = readBegun(this.settings.secretKey, kept)
    const provider = this.providerOf(begun.key)
    const claims = await claimsOf(await this.providers.configurationOf(provider), begun, call.body.search, this.settings.publicUrl)
    const { organisationId, issuer } = provider
    const found = await this.work.read(this.signIns.asking(call, { organisationId, personId: '' }), (reading) =>
      findHere(reading, issuer, claims),
    )
    const { personId, name } = found
    await this.work.change(this.signIns.asking(call, { organisationId, personId }, name), (changing) =>
      noteSignIn(changing, issuer, claims, found),
    )
    return this.signIns.open(call, { organisationId, personId }, `sign-in of ${provider.name}`)
  }
}
