import { Controller } from '@nestjs/common'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { Work } from '../use/work.js'
import { begin } from './begin.js'
import { listPlaces } from './places.js'
import { getBeginning } from './steps.js'
import { sendTestMails } from './test-mails.js'

@Controller()
export class BeginningsController {
  constructor(private readonly work: Work) {}

  @Operation('listPlaces')
  places(@Asked() call: Call<'listPlaces'>) {
    return listPlaces(call.query.search)
  }

  @Operation('beginWarehouse')
  begin(@Asked() call: Call<'beginWarehouse'>) {
    return this.work.change(call, (changing) => begin(changing, call.body))
  }

  @Operation('getBeginning')
  steps(@Asked() call: Call<'getBeginning'>) {
    return this.work.read(call, (reading) => getBeginning(reading, call.params.warehouseId))
  }

  @Operation('sendTestMails')
  testMails(@Asked() call: Call<'sendTestMails'>) {
    return this.work.change(call, (changing) => sendTestMails(changing, call.params.warehouseId))
  }
}
