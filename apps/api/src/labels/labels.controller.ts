import { Controller, Inject } from '@nestjs/common'
import type { FileAnswer } from '@tapewarden/shared'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { SETTINGS } from '../use/tokens.js'
import { Work } from '../use/work.js'

/** What draws a PDF takes a third of a second to load: it is loaded when first asked for, before a transaction begins. */
@Controller()
export class LabelsController {
  constructor(
    private readonly work: Work,
    @Inject(SETTINGS) private readonly settings: { publicUrl: string },
  ) {}

  @Operation('printLabels')
  async labels(@Asked() call: Call<'printLabels'>): Promise<FileAnswer> {
    const { printLabels } = await import('./labels.js')
    return this.work.change(call, (changing) => printLabels(changing, this.settings.publicUrl, call.body))
  }

  @Operation('jobSheet')
  async jobSheet(@Asked() call: Call<'jobSheet'>): Promise<FileAnswer> {
    const { printJobSheet } = await import('./job-sheet.js')
    return this.work.read(call, (reading) => printJobSheet(reading, this.settings.publicUrl, call.params.workOrderId, call.query))
  }
}
