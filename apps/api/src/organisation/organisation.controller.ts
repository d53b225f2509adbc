import { Controller, StreamableFile } from '@nestjs/common'
import { Database, writeOrganisation } from '@tapewarden/persistence'
import { ConflictError } from '@tapewarden/platform'
import { PassThrough } from 'node:stream'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { Work } from '../use/work.js'
import { listAudit } from './list-audit.js'

/** Who reads slower than this takes up a connection of the database for too long. */
const LONGEST_MS = 3_600_000

@Controller()
export class OrganisationController {
  /** One at a time of an organisation and process: each holds a connection until its last byte is read. */
  private readonly running = new Set<string>()

  constructor(
    private readonly work: Work,
    private readonly database: Database,
  ) {}

  @Operation('listAudit')
  audit(@Asked() call: Call<'listAudit'>) {
    return this.work.read(call, (reading) => listAudit(reading, call.query))
  }

  /** The entry that says who took it is in the file too: it is written before the first byte. */
  @Operation('exportOrganisation')
  async export(@Asked() call: Call<'exportOrganisation'>): Promise<StreamableFile> {
    const { organisationId } = call.who
    if (this.running.has(organisationId))
      throw new ConflictError('EXPORT_RUNNING', 'Such a file is being made already. Wait until that one is done.')
    this.running.add(organisationId)
    const file = new PassThrough()
    const late = setTimeout(() => file.destroy(new Error('The file was not read within an hour.')), LONGEST_MS)
    try {
      await this.work.change(call, async (changing) =>
        changing.note({ action: 'take everything as a file', subjectKind: 'organisation', subjectId: organisationId }),
      )
    } catch (error) {
      this.running.delete(organisationId)
      clearTimeout(late)
      throw error
    }
    call.request.raw.once('close', () => file.destroy())
    void writeOrganisation(this.database, organisationId, call.now, file)
      .catch((error: unknown) => call.request.log.warn({ err: error }, 'the file of an organisation was not finished'))
      .finally(() => {
        clearTimeout(late)
        this.running.delete(organisationId)
      })
    const name = `tapewarden-${call.now.toISOString().slice(0, 10)}.organisation.gz`
    return new StreamableFile(file, { type: 'application/gzip', disposition: `attachment; filename="${name}"` })
  }
}
