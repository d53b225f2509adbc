import { Controller } from '@nestjs/common'
import type { PackerPage } from '@tapewarden/shared'
import type { Call } from '../http/call.js'
import { Asked } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { type Changing, Work } from '../use/work.js'
import { type Labelled, labelled, packerEvidence, packerPage, packerReport, packerWorksAgain } from './packers.js'
import { Throttle } from './throttle.js'

const MINUTE_MS = 60_000
type PackerCall = Pick<Call<'packerReport'>, 'params' | 'now' | 'requestId' | 'request'>

/** Public routes: who asks is known by the label alone. Looking and tapping are counted by address, tapping by label too. */
@Controller()
export class PackersController {
  private readonly looks = new Throttle(60, MINUTE_MS)
  private readonly taps = new Throttle(12, MINUTE_MS)

  constructor(private readonly work: Work) {}

  private async asking(call: PackerCall): Promise<Labelled & { asking: { who: Labelled['who']; now: Date; requestId: string } }> {
    this.looks.take(call.request.ip, Date.now())
    const found = await labelled(this.work, call.params.token)
    return { ...found, asking: { who: found.who, now: call.now, requestId: call.requestId } }
  }

  private async change(call: PackerCall, use: (changing: Changing, machineId: string) => Promise<PackerPage>): Promise<PackerPage> {
    const { asking, machineId } = await this.asking(call)
    this.taps.take(`${call.request.ip} ${machineId}`, Date.now())
    return this.work.change(asking, (changing) => use(changing, machineId))
  }

  @Operation('packerPage')
  async page(@Asked() call: Call<'packerPage'>): Promise<PackerPage> {
    const { asking, machineId } = await this.asking(call)
    return this.work.read(asking, (reading) => packerPage(reading, machineId))
  }

  @Operation('packerReport')
  report(@Asked() call: Call<'packerReport'>): Promise<PackerPage> {
    return this.change(call, (changing, machineId) => packerReport(changing, machineId, call.body))
  }

  @Operation('packerWorksAgain')
  worksAgain(@Asked() call: Call<'packerWorksAgain'>): Promise<PackerPage> {
    return this.change(call, packerWorksAgain)
  }

  @Operation('packerCounter')
  counter(@Asked() call: Call<'packerCounter'>): Promise<PackerPage> {
    return this.change(call, (changing, machineId) => packerEvidence(changing, machineId, call.body))
  }

  @Operation('packerTap')
  tap(@Asked() call: Call<'packerTap'>): Promise<PackerPage> {
    return this.change(call, (changing, machineId) => packerEvidence(changing, machineId, call.body))
  }
}
