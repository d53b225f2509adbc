import { Controller } from '@nestjs/common'
import { takeBackCare, tellCare } from '../completion/told-care.js'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { machineForecasts } from '../occurrences/forecasts.js'
import { Work } from '../use/work.js'
import { fitComponent, listComponents, removeComponent } from './components.js'
import { patchComponent } from './put-right-component.js'
import { getMachine, getMachineByLabel } from './machine-detail.js'
import { listMachines } from './machine-list.js'
import { listServiceRecords, machineUsage } from './machine-story.js'
import { changeStatus, moveMachine, patchMachine } from './move.js'
import { listOnSiteMachines } from './on-site.js'
import { createMachine, createMachines } from './register.js'
import { standMachine } from './stand.js'

@Controller()
export class MachinesController {
  constructor(private readonly work: Work) {}

  @Operation('listMachines')
  list(@Asked() call: Call<'listMachines'>) {
    return this.work.read(call, (reading) => listMachines(reading, call.query))
  }

  @Operation('createMachine')
  create(@Asked() call: Call<'createMachine'>) {
    return this.work.change(call, (changing) => createMachine(changing, call.body))
  }

  @Operation('createMachines')
  createMany(@Asked() call: Call<'createMachines'>) {
    return this.work.change(call, (changing) => createMachines(changing, call.body))
  }

  @Operation('getMachine')
  get(@Asked() call: Call<'getMachine'>) {
    return this.work.read(call, (reading) => getMachine(reading, call.params.machineId))
  }

  @Operation('getMachineByLabel')
  getByLabel(@Asked() call: Call<'getMachineByLabel'>) {
    return this.work.read(call, (reading) => getMachineByLabel(reading, call.params.labelCode))
  }

  @Operation('listOnSiteMachines')
  onSite(@Asked() call: Call<'listOnSiteMachines'>) {
    return this.work.read(call, (reading) => listOnSiteMachines(reading, call.query))
  }

  @Operation('patchMachine')
  patch(@Asked() call: Call<'patchMachine'>) {
    return this.work.change(call, (changing) => patchMachine(changing, call.params.machineId, call.body))
  }

  @Operation('moveMachine')
  move(@Asked() call: Call<'moveMachine'>) {
    return this.work.change(call, (changing) => moveMachine(changing, call.params.machineId, call.body))
  }

  @Operation('standMachine')
  stand(@Asked() call: Call<'standMachine'>) {
    return this.work.change(call, (changing) => standMachine(changing, call.params.labelCode, call.body))
  }

  @Operation('changeMachineStatus')
  changeStatus(@Asked() call: Call<'changeMachineStatus'>) {
    return this.work.change(call, (changing) => changeStatus(changing, call.params.machineId, call.body))
  }

  @Operation('machineUsage')
  usage(@Asked() call: Call<'machineUsage'>) {
    return this.work.read(call, (reading) => machineUsage(reading, call.params.machineId, call.query))
  }

  @Operation('machineForecasts')
  forecasts(@Asked() call: Call<'machineForecasts'>) {
    return this.work.read(call, (reading) => machineForecasts(reading, call.params.machineId))
  }

  @Operation('machineComponents')
  components(@Asked() call: Call<'machineComponents'>) {
    return this.work.read(call, (reading) => listComponents(reading, call.params.machineId))
  }

  @Operation('fitComponent')
  fitComponent(@Asked() call: Call<'fitComponent'>) {
    return this.work.change(call, (changing) => fitComponent(changing, call.params.machineId, call.body))
  }

  @Operation('removeComponent')
  removeComponent(@Asked() call: Call<'removeComponent'>) {
    return this.work.change(call, (changing) => removeComponent(changing, call.params.machineId, call.params.componentId, call.body))
  }

  @Operation('patchComponent')
  patchComponent(@Asked() call: Call<'patchComponent'>) {
    return this.work.change(call, (changing) => patchComponent(changing, call.params.machineId, call.params.placementId, call.body))
  }

  @Operation('tellCare')
  tellCare(@Asked() call: Call<'tellCare'>) {
    return this.work.change(call, (changing) => tellCare(changing, call.params.machineId, call.body))
  }

  @Operation('takeBackCare')
  takeBackCare(@Asked() call: Call<'takeBackCare'>) {
    return this.work.change(call, (changing) => takeBackCare(changing, call.params.serviceRecordId, call.body.reason))
  }

  @Operation('machineServiceRecords')
  serviceRecords(@Asked() call: Call<'machineServiceRecords'>) {
    return this.work.read(call, (reading) => listServiceRecords(reading, call.params.machineId, call.query))
  }
}
