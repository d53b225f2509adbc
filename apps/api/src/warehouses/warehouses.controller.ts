import { Controller } from '@nestjs/common'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { Work } from '../use/work.js'
import { previewClosure } from './closure-preview.js'
import { addClosure, addPeak, createWarehouse, patchWarehouse, putShifts, putWarehousePeople, removePeriod } from './warehouse-changes.js'
import { getWarehouse, listWarehouses } from './warehouse-reads.js'

@Controller()
export class WarehousesController {
  constructor(private readonly work: Work) {}

  @Operation('listWarehouses')
  list(@Asked() call: Call<'listWarehouses'>) {
    return this.work.read(call, listWarehouses)
  }

  @Operation('createWarehouse')
  create(@Asked() call: Call<'createWarehouse'>) {
    return this.work.change(call, (changing) => createWarehouse(changing, call.body))
  }

  @Operation('getWarehouse')
  get(@Asked() call: Call<'getWarehouse'>) {
    return this.work.read(call, (reading) => getWarehouse(reading, call.params.warehouseId))
  }

  @Operation('patchWarehouse')
  patch(@Asked() call: Call<'patchWarehouse'>) {
    return this.work.change(call, (changing) => patchWarehouse(changing, call.params.warehouseId, call.body))
  }

  @Operation('putShifts')
  putShifts(@Asked() call: Call<'putShifts'>) {
    return this.work.change(call, (changing) => putShifts(changing, call.params.warehouseId, call.body))
  }

  @Operation('addClosure')
  addClosure(@Asked() call: Call<'addClosure'>) {
    return this.work.change(call, (changing) => addClosure(changing, call.params.warehouseId, call.body))
  }

  @Operation('previewClosure')
  previewClosure(@Asked() call: Call<'previewClosure'>) {
    return this.work.rehearse(call, (changing) => previewClosure(changing, call.params.warehouseId, call.body))
  }

  @Operation('removeClosure')
  removeClosure(@Asked() call: Call<'removeClosure'>) {
    return this.work.change(call, (changing) => removePeriod(changing, 'closure', call.params.warehouseId, call.params.closureId))
  }

  @Operation('addPeak')
  addPeak(@Asked() call: Call<'addPeak'>) {
    return this.work.change(call, (changing) => addPeak(changing, call.params.warehouseId, call.body))
  }

  @Operation('removePeak')
  removePeak(@Asked() call: Call<'removePeak'>) {
    return this.work.change(call, (changing) => removePeriod(changing, 'peak', call.params.warehouseId, call.params.peakId))
  }

  @Operation('putWarehousePeople')
  putPeople(@Asked() call: Call<'putWarehousePeople'>) {
    return this.work.change(call, (changing) => putWarehousePeople(changing, call.params.warehouseId, call.body.personIds))
  }
}
