import { Controller } from '@nestjs/common'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { Work } from '../use/work.js'
import { partNeeds } from './part-needs.js'
import { createPart, getPart, listParts, patchPart, putStock } from './parts.js'

@Controller()
export class PartsController {
  constructor(private readonly work: Work) {}

  @Operation('listParts')
  list(@Asked() call: Call<'listParts'>) {
    return this.work.read(call, (reading) => listParts(reading, call.query))
  }

  @Operation('createPart')
  create(@Asked() call: Call<'createPart'>) {
    return this.work.change(call, (changing) => createPart(changing, call.body))
  }

  @Operation('getPart')
  get(@Asked() call: Call<'getPart'>) {
    return this.work.read(call, (reading) => getPart(reading, call.params.partId))
  }

  @Operation('patchPart')
  patch(@Asked() call: Call<'patchPart'>) {
    return this.work.change(call, (changing) => patchPart(changing, call.params.partId, call.body))
  }

  @Operation('putPartStock')
  putStock(@Asked() call: Call<'putPartStock'>) {
    return this.work.change(call, (changing) => putStock(changing, call.params.partId, call.params.warehouseId, call.body))
  }

  @Operation('partNeeds')
  needs(@Asked() call: Call<'partNeeds'>) {
    return this.work.read(call, (reading) => partNeeds(reading, call.query))
  }
}
