import { Controller } from '@nestjs/common'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { Work } from '../use/work.js'
import { setShortCode } from './short-codes.js'
import { createTablet, endTablet, listTablets, thisTablet } from './tablets.js'
import { beginTurn } from './turns.js'

@Controller()
export class TabletsController {
  constructor(private readonly work: Work) {}

  @Operation('setShortCode')
  setCode(@Asked() call: Call<'setShortCode'>) {
    return this.work.change(call, (changing) => setShortCode(changing, call.body.code))
  }

  @Operation('listTablets')
  list(@Asked() call: Call<'listTablets'>) {
    return this.work.read(call, listTablets)
  }

  @Operation('createTablet')
  create(@Asked() call: Call<'createTablet'>) {
    return this.work.change(call, (changing) => createTablet(changing, call.body))
  }

  @Operation('endTablet')
  end(@Asked() call: Call<'endTablet'>) {
    return this.work.change(call, (changing) => endTablet(changing, call.params.tabletId))
  }

  @Operation('thisTablet')
  look(@Asked() call: Call<'thisTablet'>) {
    return this.work.read(call, thisTablet)
  }

  @Operation('beginTurn')
  begin(@Asked() call: Call<'beginTurn'>) {
    // Without the claim: what a wrong code has changed is no answer to keep.
    const { claim: _none, ...asking } = call
    return beginTurn(this.work, asking, call.body)
  }
}
