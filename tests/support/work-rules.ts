/** What the rules of a work order's life make of each entry: a second, simple telling of them, for one order with one task. */
export interface Entry {
  id: string
  kind: 'note' | 'finding' | 'acknowledge_cautions' | 'measure' | 'answer_step' | 'task_done' | 'wait' | 'resume'
  text?: string
  taskId?: string
  measurementKey?: string
  value?: number
  unit?: string
  stepKey?: string
  answer?: boolean
  waitingFor?: string
  statement?: string
}
export type Outcome = 'applied' | 'kept_as_evidence' | 'conflict' | 'refused'

/** An order under way, its cautions read, whose one task has a step to tick and a value to measure. */
export class Rules {
  private waiting = false
  private read = true
  private done = false
  private ticked = false
  private measured: number | null = null

  judge(entry: Entry): Outcome {
    if (entry.kind === 'note' || entry.kind === 'finding') return 'applied'
    if (entry.kind === 'acknowledge_cautions') {
      this.read = true
      return 'applied'
    }
    if (entry.kind === 'wait') return this.move(!this.waiting, true)
    if (entry.kind === 'resume') return this.move(this.waiting, false)
    // What was answered already is kept beside the answer, whatever the order waits for.
    if (this.done && entry.kind === 'measure') return entry.value === this.measured ? 'kept_as_evidence' : 'conflict'
    if (this.done) return 'kept_as_evidence'
    return this.waiting || !this.read ? 'refused' : this.answer(entry)
  }

  private move(allowed: boolean, waiting: boolean): Outcome {
    if (!allowed) return 'refused'
    this.waiting = waiting
    // Whoever goes on after a pause reads the cautions again.
    if (waiting) this.read = false
    return 'applied'
  }

  private answer(entry: Entry): Outcome {
    if (entry.kind === 'answer_step') this.ticked = true
    if (entry.kind === 'measure') this.measured = entry.value ?? null
    if (entry.kind === 'task_done') {
      if (!this.ticked || this.measured === null) return 'refused'
      this.done = true
    }
    return 'applied'
  }
}
