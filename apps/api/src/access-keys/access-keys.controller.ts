import { Controller } from '@nestjs/common'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { Work } from '../use/work.js'
import { createAccessKey, listAccessKeys, revokeAccessKey } from './access-keys.js'

@Controller()
export class AccessKeysController {
  constructor(private readonly work: Work) {}

  @Operation('listAccessKeys')
  list(@Asked() call: Call<'listAccessKeys'>) {
    return this.work.read(call, listAccessKeys)
  }

  @Operation('createAccessKey')
  create(@Asked() call: Call<'createAccessKey'>) {
    return this.work.change(call, (changing) => createAccessKey(changing, call.body))
  }

  @Operation('revokeAccessKey')
  revoke(@Asked() call: Call<'revokeAccessKey'>) {
    return this.work.change(call, (changing) => revokeAccessKey(changing, call.params.accessKeyId))
  }
}
