import { Controller, Inject } from '@nestjs/common'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { SETTINGS } from '../use/tokens.js'
import { Work } from '../use/work.js'
import { type LinkSettings, makeVisitLink } from './visit-link.js'
import { createVisit, getVisit, listVisits, patchVisit } from './visits.js'

@Controller()
export class VisitsController {
  constructor(
    private readonly work: Work,
    @Inject(SETTINGS) private readonly settings: LinkSettings,
  ) {}

  @Operation('listVisits')
  list(@Asked() call: Call<'listVisits'>) {
    return this.work.read(call, (reading) => listVisits(reading, call.query))
  }

  @Operation('createVisit')
  create(@Asked() call: Call<'createVisit'>) {
    return this.work.change(call, (changing) => createVisit(changing, call.body))
  }

  @Operation('getVisit')
  get(@Asked() call: Call<'getVisit'>) {
    return this.work.read(call, (reading) => getVisit(reading, call.params.visitId))
  }

  @Operation('createVisitLink')
  createLink(@Asked() call: Call<'createVisitLink'>) {
    return this.work.change(call, (changing) => makeVisitLink(changing, this.settings, call.params.visitId))
  }

  @Operation('patchVisit')
  patch(@Asked() call: Call<'patchVisit'>) {
    return this.work.change(call, (changing) => patchVisit(changing, call.params.visitId, call.body))
  }
}
