import { Controller, Inject } from '@nestjs/common'
import { Database } from '@tapewarden/persistence'
import { UnavailableError } from '@tapewarden/platform'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { SETTINGS } from '../use/tokens.js'
import { Work } from '../use/work.js'
import { health } from './health.js'
import { installation } from './installation.js'
import type { Installation } from './not-safe.js'

@Controller()
export class HealthController {
  constructor(
    private readonly database: Database,
    private readonly work: Work,
    @Inject(SETTINGS) private readonly settings: { installation: Installation },
  ) {}

  @Operation('live')
  live() {
    return { status: 'live' as const }
  }

  @Operation('ready')
  async ready() {
    await this.database.askTime().catch(() => {
      throw new UnavailableError('DATABASE_AWAY', 'The database does not answer.')
    })
    return { status: 'ready' as const, detail: { database: 'answers' } }
  }

  @Operation('health')
  health(@Asked() call: Call<'health'>) {
    return this.work.read(call, health)
  }

  @Operation('getInstallation')
  getInstallation(@Asked() call: Call<'getInstallation'>) {
    return this.work.read(call, (reading) => installation(reading, this.settings.installation))
  }
}
