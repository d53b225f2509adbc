/**
 * Places where a test lets the process die as if the power went, in the order of a message's life.
 * Random kills rarely land in these gaps; named ones always do.
 */
export const CRASH_POINTS = [
  'before_chunk_done',
  'after_chunk_done',
  'before_compose_commit',
  'after_compose_commit',
  'after_compose_enqueued',
  'before_claim',
  'after_claim',
  'after_render',
  'before_handing_over_commit',
  'after_handing_over_commit',
  'data_begins',
  'body_written',
  'after_reply',
  'after_mark',
  'after_sweep_commit',
] as const
export type CrashPoint = (typeof CRASH_POINTS)[number]

/** Called at each point; does nothing outside tests. */
export type Crash = (point: CrashPoint) => void

/** @param setting 'name' or 'name@3' for the third passing; undefined: never */
export function crashAt(setting: string | undefined, die: () => void = () => process.kill(process.pid, 'SIGKILL')): Crash {
  if (setting === undefined) return () => undefined
  const [name, times] = setting.split('@')
  let left = Number(times ?? '1')
  return (point) => {
    if (point !== name) return
    left -= 1
    if (left === 0) die()
  }
}
