import { Controller } from '@nestjs/common'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { Work } from '../use/work.js'
import { createComponentType, patchComponentType } from './component-types.js'
import { createMachineType, patchMachineType } from './machine-type-changes.js'
import { getMachineType, listComponentTypes, listMachineTypes } from './machine-type-reads.js'
import { previewServicePlan } from './plan-preview.js'
import { removeMachineType } from './remove-machine-type.js'
import { createServicePlan, getServicePlan, listServicePlans } from './service-plans.js'

@Controller()
export class MachineTypesController {
  constructor(private readonly work: Work) {}

  @Operation('listComponentTypes')
  listComponentTypes(@Asked() call: Call<'listComponentTypes'>) {
    return this.work.read(call, listComponentTypes)
  }

  @Operation('createComponentType')
  createComponentType(@Asked() call: Call<'createComponentType'>) {
    return this.work.change(call, (changing) => createComponentType(changing, call.body))
  }

  @Operation('patchComponentType')
  patchComponentType(@Asked() call: Call<'patchComponentType'>) {
    return this.work.change(call, (changing) => patchComponentType(changing, call.params.componentTypeId, call.body))
  }

  @Operation('listMachineTypes')
  list(@Asked() call: Call<'listMachineTypes'>) {
    return this.work.read(call, listMachineTypes)
  }

  @Operation('createMachineType')
  create(@Asked() call: Call<'createMachineType'>) {
    return this.work.change(call, (changing) => createMachineType(changing, call.body))
  }

  @Operation('getMachineType')
  get(@Asked() call: Call<'getMachineType'>) {
    return this.work.read(call, (reading) => getMachineType(reading, call.params.machineTypeId))
  }

  @Operation('patchMachineType')
  patch(@Asked() call: Call<'patchMachineType'>) {
    return this.work.change(call, (changing) => patchMachineType(changing, call.params.machineTypeId, call.body))
  }

  @Operation('removeMachineType')
  remove(@Asked() call: Call<'removeMachineType'>) {
    return this.work.change(call, (changing) => removeMachineType(changing, call.params.machineTypeId))
  }

  @Operation('listServicePlans')
  listPlans(@Asked() call: Call<'listServicePlans'>) {
    return this.work.read(call, (reading) => listServicePlans(reading, call.params.machineTypeId))
  }

  @Operation('createServicePlan')
  createPlan(@Asked() call: Call<'createServicePlan'>) {
    return this.work.change(call, (changing) => createServicePlan(changing, call.params.machineTypeId, call.body))
  }

  @Operation('previewServicePlan')
  previewPlan(@Asked() call: Call<'previewServicePlan'>) {
    return this.work.rehearse(call, (changing) => previewServicePlan(changing, call.params.machineTypeId, call.body))
  }

  @Operation('getServicePlan')
  getPlan(@Asked() call: Call<'getServicePlan'>) {
    return this.work.read(call, (reading) => getServicePlan(reading, call.params.servicePlanId))
  }
}
