import { Controller, Inject } from '@nestjs/common'
import { Database, findPasskey } from '@tapewarden/persistence'
import type { RouteResult, Routes } from '@tapewarden/shared'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { SignIns } from '../sessions/sign-ins.js'
import { type Limit, Tries } from '../sessions/tries.js'
import { SETTINGS } from '../use/tokens.js'
import { type Changing, Work } from '../use/work.js'
import { askAgain, beginCodes, confirmCodes, myFactors, removeFactors, renewRecoveryCodes, stopCodes } from './factors.js'
import { passkeyPlaceOf } from './passkey-place.js'
import { addPasskey, passkeyNotTaken, passkeyOptions, type PasskeySettings, removePasskey, signInOptions, takePasskey } from './passkeys.js'

const BY_ADDRESS: Limit = { name: 'passkey by address', most: 60, windowSeconds: 300 }
/** Whoever found an open screen does not guess the password on it, nor a code that was begun. */
const BY_PERSON: Limit = { name: 'asked again by person', most: 8, windowSeconds: 300 }

@Controller()
export class FactorsController {
  constructor(
    private readonly work: Work,
    private readonly database: Database,
    private readonly signIns: SignIns,
    private readonly tries: Tries,
    @Inject(SETTINGS) private readonly settings: { secretKey: string; publicUrl: string },
  ) {}

  private get place() {
    return passkeyPlaceOf(this.settings.publicUrl)
  }

  private async passkeySettings(): Promise<PasskeySettings> {
    return { secretKey: this.settings.secretKey, place: this.place, nowMs: (await this.database.askTime()).getTime() }
  }

  /** Asks for the password again, then changes something. */
  private async again<Answer>(
    call: Call<'beginCodes' | 'stopCodes' | 'renewRecoveryCodes' | 'passkeyOptions'>,
    use: (changing: Changing) => Promise<Answer>,
  ): Promise<Answer> {
    const person = { limit: BY_PERSON, by: call.who.personId }
    await this.tries.take(person)
    const answer = await this.work.change(call, async (changing) => {
      await askAgain(changing, call.body.currentPassword)
      return use(changing)
    })
    await this.tries.forgive(person)
    return answer
  }

  @Operation('myFactors')
  mine(@Asked() call: Call<'myFactors'>) {
    return this.work.read(call, (reading) => myFactors(reading, this.place))
  }

  @Operation('beginCodes')
  begin(@Asked() call: Call<'beginCodes'>) {
    return this.again(call, (changing) => beginCodes(changing, this.settings.secretKey))
  }

  @Operation('confirmCodes')
  async confirm(@Asked() call: Call<'confirmCodes'>) {
    await this.tries.take({ limit: BY_PERSON, by: call.who.personId })
    return this.work.change(call, (changing) => confirmCodes(changing, this.settings.secretKey, call.body.code))
  }

  @Operation('stopCodes')
  stop(@Asked() call: Call<'stopCodes'>) {
    return this.again(call, stopCodes)
  }

  @Operation('renewRecoveryCodes')
  renew(@Asked() call: Call<'renewRecoveryCodes'>) {
    return this.again(call, (changing) => renewRecoveryCodes(changing, this.settings.secretKey))
  }

  @Operation('passkeyOptions')
  async options(@Asked() call: Call<'passkeyOptions'>) {
    const settings = await this.passkeySettings()
    return this.again(call, (changing) => passkeyOptions(changing, settings))
  }

  @Operation('addPasskey')
  async add(@Asked() call: Call<'addPasskey'>) {
    const settings = await this.passkeySettings()
    return this.work.change(call, (changing) => addPasskey(changing, settings, call.body))
  }

  @Operation('removePasskey')
  remove(@Asked() call: Call<'removePasskey'>) {
    return this.work.change(call, (changing) => removePasskey(changing, call.params.passkeyId))
  }

  @Operation('removeFactors')
  removeOf(@Asked() call: Call<'removeFactors'>) {
    return this.work.change(call, (changing) => removeFactors(changing, call.params.personId))
  }

  @Operation('passkeySignInOptions')
  async signInOptions(): Promise<RouteResult<Routes['passkeySignInOptions']>> {
    return signInOptions(await this.passkeySettings())
  }

  @Operation('signInByPasskey')
  async signIn(@Asked() call: Call<'signInByPasskey'>): Promise<RouteResult<Routes['signInByPasskey']>> {
    await this.tries.take({ limit: BY_ADDRESS, by: call.request.ip })
    const settings = await this.passkeySettings()
    const found = await findPasskey(this.database.pool, call.body.credential.id)
    if (!found) throw passkeyNotTaken()
    await this.work.change(this.signIns.asking(call, found), (changing) => takePasskey(changing, settings, found.passkeyId, call.body))
    return this.signIns.open(call, found, 'passkey')
  }
}
