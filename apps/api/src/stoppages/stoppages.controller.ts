import { Controller } from '@nestjs/common'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { dateScores, listScoredDates } from '../review/dates/date-scores.js'
import { lifeCurve } from '../review/life/life-curve.js'
import { review } from '../review/review.js'
import { Work } from '../use/work.js'
import { closeStoppage, patchStoppage, reportStoppage } from './stoppage-changes.js'
import { listStoppages, oneStoppage } from './stoppages.js'

@Controller()
export class StoppagesController {
  constructor(private readonly work: Work) {}

  @Operation('listStoppages')
  list(@Asked() call: Call<'listStoppages'>) {
    return this.work.read(call, (reading) => listStoppages(reading, call.query))
  }

  @Operation('reportStoppage')
  report(@Asked() call: Call<'reportStoppage'>) {
    return this.work.change(call, (changing) => reportStoppage(changing, call.body))
  }

  @Operation('getStoppage')
  get(@Asked() call: Call<'getStoppage'>) {
    return this.work.read(call, (reading) => oneStoppage(reading, call.params.stoppageId))
  }

  @Operation('patchStoppage')
  patch(@Asked() call: Call<'patchStoppage'>) {
    return this.work.change(call, (changing) => patchStoppage(changing, call.params.stoppageId, call.body))
  }

  @Operation('closeStoppage')
  close(@Asked() call: Call<'closeStoppage'>) {
    return this.work.change(call, (changing) => closeStoppage(changing, call.params.stoppageId, call.body))
  }

  @Operation('review')
  review(@Asked() call: Call<'review'>) {
    return this.work.read(call, (reading) => review(reading, call.query))
  }

  @Operation('lifeCurve')
  life(@Asked() call: Call<'lifeCurve'>) {
    return this.work.read(call, (reading) => lifeCurve(reading, call.query))
  }

  @Operation('dateScores')
  dates(@Asked() call: Call<'dateScores'>) {
    return this.work.read(call, (reading) => dateScores(reading, call.query))
  }

  @Operation('listScoredDates')
  scored(@Asked() call: Call<'listScoredDates'>) {
    return this.work.read(call, (reading) => listScoredDates(reading, call.query))
  }
}
