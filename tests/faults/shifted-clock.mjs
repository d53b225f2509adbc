// Loaded first into a process whose machine's clock is to be wrong. SHIFT_FILE holds milliseconds and is read anew all the time, so that the clock can jump.
import { readFileSync } from 'node:fs'

const RealDate = Date
const path = process.env.SHIFT_FILE
let shiftMs = Number(readFileSync(path, 'utf8'))
setInterval(() => {
  const read = Number(readFileSync(path, 'utf8'))
  if (Number.isFinite(read)) shiftMs = read
}, 100).unref()

class ShiftedDate extends RealDate {
  constructor(...given) {
    if (given.length === 0) super(RealDate.now() + shiftMs)
    else super(...given)
  }
  static now() {
    return RealDate.now() + shiftMs
  }
}
globalThis.Date = ShiftedDate
