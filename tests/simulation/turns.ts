/** Lets one of several tasks run at a time, up to its next turn; whose turn it is, the dice say. So a run is the same each time. */

/** Thrown into a task whose worker has died: nothing it does afterwards happens. */
export class WorkerDied extends Error {}

export interface Task {
  name: string
  worker: number
  done: boolean
  /** Goes on with the task up to its next turn or its end. */
  step(): Promise<void>
  /** The worker dies where the task waits. */
  die(): Promise<void>
}

export type Turn = (where: string) => Promise<void>

/** @param body the task's work; calls turn wherever something else may happen meanwhile */
export function startTask(name: string, worker: number, body: (turn: Turn) => Promise<unknown>, onEnd: (error: unknown) => void): Task {
  let resume: ((how: 'go' | 'die') => void) | null = null
  let parked: () => void = () => undefined
  const wait = () => new Promise<void>((done) => (parked = done))
  const turn: Turn = async () => {
    const how = await new Promise<'go' | 'die'>((next) => {
      resume = next
      parked()
    })
    if (how === 'die') throw new WorkerDied()
  }
  const task: Task = {
    name,
    worker,
    done: false,
    step: () => go('go'),
    die: () => go('die'),
  }
  const go = async (how: 'go' | 'die') => {
    if (task.done) return
    const reached = wait()
    const next = resume
    resume = null
    next?.(how)
    await reached
  }
  const run = async () => {
    try {
      await turn('begin')
      await body(turn)
      onEnd(null)
    } catch (error) {
      onEnd(error)
    } finally {
      task.done = true
      parked()
    }
  }
  void run()
  return task
}
