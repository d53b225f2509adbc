import { Controller } from '@nestjs/common'
import type { FileAnswer, ImportDetail } from '@tapewarden/shared'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { Work } from '../use/work.js'
import { exportList, refusedRows, templateOf } from './export-list.js'
import { applyImport, cancelImport, getImport, listImportRows, listImports, mapImport } from './imports.js'
import { ImportRunner } from './runner.js'
import { takeFile } from './take-file.js'
import { undoImport } from './undo.js'

@Controller()
export class ImportsController {
  constructor(
    private readonly work: Work,
    private readonly runner: ImportRunner,
  ) {}

  @Operation('listImports')
  list(@Asked() call: Call<'listImports'>) {
    return this.work.read(call, (reading) => listImports(reading, call.query))
  }

  @Operation('createImport')
  create(@Asked() call: Call<'createImport'>): Promise<ImportDetail> {
    return takeFile(this.work, call, call.query.kind, call.query.fileName, call.request.raw)
  }

  @Operation('getImport')
  async get(@Asked() call: Call<'getImport'>): Promise<ImportDetail> {
    const found = await this.work.read(call, (reading) => getImport(reading, call.params.importId))
    // What a process that died has left is taken up by whoever asks next.
    if (found.state === 'checking' || found.state === 'applying') this.runner.kick(call, found.id)
    return found
  }

  @Operation('mapImport')
  async map(@Asked() call: Call<'mapImport'>): Promise<ImportDetail> {
    const found = await this.work.change(call, (changing) => mapImport(changing, call.params.importId, call.body))
    this.runner.kick(call, found.id)
    return found
  }

  @Operation('listImportRows')
  rows(@Asked() call: Call<'listImportRows'>) {
    return this.work.read(call, (reading) => listImportRows(reading, call.params.importId, call.query))
  }

  @Operation('applyImport')
  async apply(@Asked() call: Call<'applyImport'>): Promise<ImportDetail> {
    const found = await this.work.change(call, (changing) => applyImport(changing, call.params.importId, call.body))
    this.runner.kick(call, found.id)
    return found
  }

  @Operation('cancelImport')
  cancel(@Asked() call: Call<'cancelImport'>): Promise<ImportDetail> {
    return this.work.change(call, (changing) => cancelImport(changing, call.params.importId))
  }

  @Operation('undoImport')
  undo(@Asked() call: Call<'undoImport'>): Promise<ImportDetail> {
    return this.work.change(call, (changing) => undoImport(changing, call.params.importId))
  }

  @Operation('refusedRows')
  refused(@Asked() call: Call<'refusedRows'>): Promise<FileAnswer> {
    return this.work.read(call, (reading) => refusedRows(reading, call.params.importId))
  }

  @Operation('importTemplate')
  template(@Asked() call: Call<'importTemplate'>): Promise<FileAnswer> {
    return templateOf(call.query.kind, call.query.format)
  }

  @Operation('exportList')
  export(@Asked() call: Call<'exportList'>): Promise<FileAnswer> {
    return this.work.read(call, (reading) => exportList(reading, call.query.list, call.query.format))
  }
}
