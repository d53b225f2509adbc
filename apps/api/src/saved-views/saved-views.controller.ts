import { Controller } from '@nestjs/common'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { Work } from '../use/work.js'
import { listViews, removeView, saveView } from './saved-views.js'

@Controller()
export class SavedViewsController {
  constructor(private readonly work: Work) {}

  @Operation('listSavedViews')
  list(@Asked() call: Call<'listSavedViews'>) {
    return this.work.read(call, listViews)
  }

  @Operation('saveView')
  save(@Asked() call: Call<'saveView'>) {
    return this.work.change(call, (changing) => saveView(changing, call.body))
  }

  @Operation('removeView')
  remove(@Asked() call: Call<'removeView'>) {
    return this.work.change(call, (changing) => removeView(changing, call.params.savedViewId))
  }
}
