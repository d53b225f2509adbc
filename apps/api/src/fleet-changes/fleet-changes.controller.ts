import { Controller } from '@nestjs/common'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { Work } from '../use/work.js'
import { changeMachines } from './change-many.js'
import { listChanges } from './record.js'
import { registerCounted } from './register-counted.js'
import { swapMachine } from './swap.js'
import { undoFleetChange } from './undo.js'

@Controller()
export class FleetChangesController {
  constructor(private readonly work: Work) {}

  @Operation('registerCounted')
  register(@Asked() call: Call<'registerCounted'>) {
    return this.work.change(call, (changing) => registerCounted(changing, call.body))
  }

  @Operation('changeMachines')
  change(@Asked() call: Call<'changeMachines'>) {
    return this.work.change(call, (changing) => changeMachines(changing, call.body))
  }

  @Operation('listFleetChanges')
  list(@Asked() call: Call<'listFleetChanges'>) {
    return this.work.read(call, (reading) => listChanges(reading))
  }

  @Operation('undoFleetChange')
  undo(@Asked() call: Call<'undoFleetChange'>) {
    return this.work.change(call, (changing) => undoFleetChange(changing, call.params.fleetChangeId))
  }

  @Operation('swapMachine')
  swap(@Asked() call: Call<'swapMachine'>) {
    return this.work.change(call, (changing) => swapMachine(changing, call.params.machineId, call.body))
  }
}
