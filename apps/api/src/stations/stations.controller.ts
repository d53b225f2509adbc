import { Controller } from '@nestjs/common'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { Work } from '../use/work.js'
import { removeStation } from './remove-station.js'
import { createStation, getStation, listStations, patchStation } from './stations.js'
import { walkStation } from './walk.js'

@Controller()
export class StationsController {
  constructor(private readonly work: Work) {}

  @Operation('listStations')
  list(@Asked() call: Call<'listStations'>) {
    return this.work.read(call, (reading) => listStations(reading, call.query))
  }

  @Operation('createStation')
  create(@Asked() call: Call<'createStation'>) {
    return this.work.change(call, (changing) => createStation(changing, call.body))
  }

  @Operation('getStation')
  get(@Asked() call: Call<'getStation'>) {
    return this.work.read(call, (reading) => getStation(reading, call.params.stationId))
  }

  @Operation('patchStation')
  patch(@Asked() call: Call<'patchStation'>) {
    return this.work.change(call, (changing) => patchStation(changing, call.params.stationId, call.body))
  }

  @Operation('removeStation')
  remove(@Asked() call: Call<'removeStation'>) {
    return this.work.change(call, (changing) => removeStation(changing, call.params.stationId))
  }

  @Operation('walkStation')
  walk(@Asked() call: Call<'walkStation'>) {
    return this.work.change(call, (changing) => walkStation(changing, call.params.stationId, call.body))
  }
}
