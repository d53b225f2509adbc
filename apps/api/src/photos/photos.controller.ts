import { Controller } from '@nestjs/common'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { Work } from '../use/work.js'
import { addPhoto, getPhoto, listPhotos, removePhoto } from './photos.js'

@Controller()
export class PhotosController {
  constructor(private readonly work: Work) {}

  @Operation('addPhoto')
  add(@Asked() call: Call<'addPhoto'>) {
    return this.work.change(call, (changing) => addPhoto(changing, call.body))
  }

  @Operation('listPhotos')
  list(@Asked() call: Call<'listPhotos'>) {
    return this.work.read(call, (reading) => listPhotos(reading, call.query))
  }

  @Operation('getPhoto')
  get(@Asked() call: Call<'getPhoto'>) {
    return this.work.read(call, (reading) => getPhoto(reading, call.params.photoId))
  }

  @Operation('removePhoto')
  remove(@Asked() call: Call<'removePhoto'>) {
    return this.work.change(call, (changing) => removePhoto(changing, call.params.photoId))
  }
}
