import { Controller } from '@nestjs/common'
import { Database } from '@tapewarden/persistence'
import { UnavailableError } from '@tapewarden/platform'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { Work } from '../use/work.js'
import { health } from './health.js'

@Controller()
export class HealthController {
  constructor(
    private readonly database: Database,
    private readonly work: Work,
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
}
