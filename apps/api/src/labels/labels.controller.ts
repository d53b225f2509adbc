import { Controller, Inject } from '@nestjs/common'
import type { FileAnswer } from '@tapewarden/shared'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { SETTINGS } from '../use/tokens.js'
import { Work } from '../use/work.js'
import { printJobSheet } from './job-sheet.js'
import { printLabels } from './labels.js'

@Controller()
export class LabelsController {
  constructor(
    private readonly work: Work,
    @Inject(SETTINGS) private readonly settings: { publicUrl: string },
  ) {}

  @Operation('printLabels')
  labels(@Asked() call: Call<'printLabels'>): Promise<FileAnswer> {
    return this.work.change(call, (changing) => printLabels(changing, this.settings.publicUrl, call.body))
  }

  @Operation('jobSheet')
  jobSheet(@Asked() call: Call<'jobSheet'>): Promise<FileAnswer> {
    return this.work.read(call, (reading) => printJobSheet(reading, this.settings.publicUrl, call.params.workOrderId, call.query))
  }
}
