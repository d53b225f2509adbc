import { Controller } from '@nestjs/common'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { Work } from '../use/work.js'
import { giveFinding, listFindings, machineFindings, reportFinding, settleFinding } from './findings.js'

@Controller()
export class FindingsController {
  constructor(private readonly work: Work) {}

  @Operation('machineFindings')
  ofMachine(@Asked() call: Call<'machineFindings'>) {
    return this.work.read(call, (reading) => machineFindings(reading, call.params.machineId, call.query))
  }

  @Operation('reportFinding')
  report(@Asked() call: Call<'reportFinding'>) {
    return this.work.change(call, (changing) => reportFinding(changing, call.params.machineId, call.body))
  }

  @Operation('listFindings')
  list(@Asked() call: Call<'listFindings'>) {
    return this.work.read(call, (reading) => listFindings(reading, call.query))
  }

  @Operation('settleFinding')
  settle(@Asked() call: Call<'settleFinding'>) {
    return this.work.change(call, (changing) => settleFinding(changing, call.params.findingId, call.body))
  }

  @Operation('giveFinding')
  give(@Asked() call: Call<'giveFinding'>) {
    return this.work.change(call, (changing) => giveFinding(changing, call.params.findingId, call.body))
  }
}
