import { Controller } from '@nestjs/common'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { Work } from '../use/work.js'
import { correctEvidence, dismissEvidence, listEvidence, postEvidence, postEvidenceInBulk } from './evidence.js'

@Controller()
export class EvidenceController {
  constructor(private readonly work: Work) {}

  @Operation('postEvidence')
  post(@Asked() call: Call<'postEvidence'>) {
    return this.work.change(call, (changing) => postEvidence(changing, call.body))
  }

  @Operation('postEvidenceInBulk')
  postInBulk(@Asked() call: Call<'postEvidenceInBulk'>) {
    return this.work.change(call, (changing) => postEvidenceInBulk(changing, call.body))
  }

  @Operation('listEvidence')
  list(@Asked() call: Call<'listEvidence'>) {
    return this.work.read(call, (reading) => listEvidence(reading, call.query))
  }

  @Operation('correctEvidence')
  correct(@Asked() call: Call<'correctEvidence'>) {
    return this.work.change(call, (changing) => correctEvidence(changing, call.params.evidenceId, call.body))
  }

  @Operation('dismissEvidence')
  dismiss(@Asked() call: Call<'dismissEvidence'>) {
    return this.work.change(call, (changing) => dismissEvidence(changing, call.params.evidenceId, call.body.reason))
  }
}
