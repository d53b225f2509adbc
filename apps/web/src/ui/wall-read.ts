/** What a field of a moment says, as an instant. Pure. */
import { instantsOf, wallOf } from './wall-time.js'

type Form = Pick<FormData, 'get'>
const MINUTE_MS = 60_000

/** @param shown  what the field showed first: left as it was it keeps its seconds  @returns null where the field is empty */
export function readWall(form: Form, name: string, zone: string, shown: string | null): string | null {
  const wall = String(form.get(name) ?? '')
  const instants = instantsOf(wall, zone)
  const chosen = instants[Number(form.get(`${name}-which`) ?? 0)] ?? instants[0] ?? null
  if (chosen === null || shown === null || wallOf(shown, zone) !== wall) return chosen
  const whole = Math.floor(Date.parse(shown) / MINUTE_MS) * MINUTE_MS
  return whole === Date.parse(chosen) ? shown : chosen
}

/** Fields know minutes, the books know seconds: what was typed as the minute of the moment before it lies at that moment, not before it. */
export function notBefore(instant: string, before: string | null): string {
  if (before === null) return instant
  const [at, floor] = [Date.parse(instant), Date.parse(before)]
  return at < floor && Math.floor(floor / MINUTE_MS) === Math.floor(at / MINUTE_MS) ? before : instant
}
