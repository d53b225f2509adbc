import { Controller } from '@nestjs/common'
import { Asked, type Call, type Who } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { Work } from '../use/work.js'
import { patchWorkOrder } from './change-order.js'
import { listConflicts, settleConflict } from './conflicts.js'
import { addWorkEntry, syncWorkEntries } from './entries.js'
import { cancelOrder, createWorkOrder, issueWorkOrder, lookOver, returnOrder } from './office.js'
import { listWorkOrders } from './order-list.js'
import { sheetOf } from './sheet.js'

/** A visiting technician sees no other people's records. */
function ownEntries<Sheet extends { entries: readonly { personName: string | null }[] }>(who: Who, sheet: Sheet): Sheet {
  return who.visitId === undefined ? sheet : { ...sheet, entries: sheet.entries.filter(({ personName }) => personName === who.name) }
}

@Controller()
export class WorkOrdersController {
  constructor(private readonly work: Work) {}

  @Operation('listWorkOrders')
  list(@Asked() call: Call<'listWorkOrders'>) {
    return this.work.read(call, (reading) => listWorkOrders(reading, call.query))
  }

  @Operation('createWorkOrder')
  create(@Asked() call: Call<'createWorkOrder'>) {
    return this.work.change(call, (changing) => createWorkOrder(changing, call.body))
  }

  @Operation('getWorkOrder')
  get(@Asked() call: Call<'getWorkOrder'>) {
    return this.work.read(call, async (reading) => ownEntries(call.who, await sheetOf(reading, call.params.workOrderId)))
  }

  @Operation('patchWorkOrder')
  patch(@Asked() call: Call<'patchWorkOrder'>) {
    return this.work.change(call, (changing) => patchWorkOrder(changing, call.params.workOrderId, call.body))
  }

  @Operation('issueWorkOrder')
  issue(@Asked() call: Call<'issueWorkOrder'>) {
    return this.work.change(call, (changing) => issueWorkOrder(changing, call.params.workOrderId, call.body))
  }

  @Operation('lookOverWorkOrder')
  lookOver(@Asked() call: Call<'lookOverWorkOrder'>) {
    return this.work.change(call, (changing) => lookOver(changing, call.params.workOrderId, call.body.note))
  }

  @Operation('returnWorkOrder')
  return(@Asked() call: Call<'returnWorkOrder'>) {
    return this.work.change(call, (changing) => returnOrder(changing, call.params.workOrderId, call.body))
  }

  @Operation('cancelWorkOrder')
  cancel(@Asked() call: Call<'cancelWorkOrder'>) {
    return this.work.change(call, (changing) => cancelOrder(changing, call.params.workOrderId, call.body.reason))
  }

  @Operation('addWorkEntry')
  addEntry(@Asked() call: Call<'addWorkEntry'>) {
    return this.work.change(call, async (changing) => {
      const added = await addWorkEntry(changing, call.params.workOrderId, call.body)
      return { ...added, workOrder: ownEntries(call.who, added.workOrder) }
    })
  }

  @Operation('listWorkConflicts')
  conflicts(@Asked() call: Call<'listWorkConflicts'>) {
    return this.work.read(call, (reading) => listConflicts(reading, call.query))
  }

  @Operation('settleWorkConflict')
  settle(@Asked() call: Call<'settleWorkConflict'>) {
    return this.work.change(call, (changing) => settleConflict(changing, call.params.workOrderId, call.params.entryId, call.body))
  }

  @Operation('syncWorkEntries')
  sync(@Asked() call: Call<'syncWorkEntries'>) {
    return this.work.change(call, (changing) => syncWorkEntries(changing, call.body))
  }
}
