/** One controller a noun. */
import type { Type } from '@nestjs/common'
import { HealthController } from './health/health.controller.js'
import { SessionsController } from './sessions/sessions.controller.js'

export const CONTROLLERS: Type[] = [HealthController, SessionsController]
