import { Controller } from '@nestjs/common'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { Work } from '../use/work.js'
import { comingUp } from './coming-up.js'
import { putOff, skip } from './decisions.js'
import { getOccurrence, listOccurrences } from './occurrence-reads.js'
import { previewSkip } from './skip-preview.js'
import { thisWeek } from './this-week.js'

@Controller()
export class OccurrencesController {
  constructor(private readonly work: Work) {}

  @Operation('thisWeek')
  thisWeek(@Asked() call: Call<'thisWeek'>) {
    return this.work.read(call, thisWeek)
  }

  @Operation('comingUp')
  comingUp(@Asked() call: Call<'comingUp'>) {
    return this.work.read(call, (reading) => comingUp(reading, call.query))
  }

  @Operation('listOccurrences')
  list(@Asked() call: Call<'listOccurrences'>) {
    return this.work.read(call, (reading) => listOccurrences(reading, call.query))
  }

  @Operation('getOccurrence')
  get(@Asked() call: Call<'getOccurrence'>) {
    return this.work.read(call, (reading) => getOccurrence(reading, call.params.occurrenceId))
  }

  @Operation('putOffOccurrence')
  putOff(@Asked() call: Call<'putOffOccurrence'>) {
    return this.work.change(call, (changing) => putOff(changing, call.params.occurrenceId, call.body))
  }

  @Operation('previewSkip')
  previewSkip(@Asked() call: Call<'previewSkip'>) {
    return this.work.rehearse(call, (changing) => previewSkip(changing, call.params.occurrenceId))
  }

  @Operation('skipOccurrence')
  skip(@Asked() call: Call<'skipOccurrence'>) {
    return this.work.change(call, (changing) => skip(changing, call.params.occurrenceId, call.body.reason))
  }
}
