import { Controller } from '@nestjs/common'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { Work } from '../use/work.js'
import { sayKept, settleKept } from './kept-words.js'

@Controller()
export class PhonesController {
  constructor(private readonly work: Work) {}

  @Operation('sayKept')
  say(@Asked() call: Call<'sayKept'>) {
    return this.work.change(call, (changing) => sayKept(changing, call.body))
  }

  @Operation('settleKept')
  settle(@Asked() call: Call<'settleKept'>) {
    return this.work.change(call, (changing) => settleKept(changing, call.params.storageId, call.body.entryIds))
  }
}
