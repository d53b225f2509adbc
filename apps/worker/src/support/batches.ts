interface Waiting<Item, Answer> {
  item: Item
  done: (answer: Answer) => void
  fail: (error: unknown) => void
}

/** The database is away or the connection was cut: each by itself would fare no better. */
function isOutage(error: unknown): boolean {
  const code = (error as { code?: unknown } | null)?.code
  return typeof code === 'string' && (/^(08|53|57|58)/.test(code) || /^E[A-Z]/.test(code))
}

/**
 * Does together what was asked for while the last lot of the same key was under way, so that many small transactions
 * become one. Where a lot fails because of one of its items, each is done alone: work must bear being repeated.
 * @param most items of one lot
 */
export class Batches<Item, Answer> {
  private readonly waiting = new Map<string, Waiting<Item, Answer>[]>()
  private readonly running = new Set<string>()

  constructor(
    private readonly work: (key: string, items: readonly Item[]) => Promise<readonly Answer[]>,
    private readonly most = 50,
  ) {}

  add(key: string, item: Item): Promise<Answer> {
    return new Promise((done, fail) => {
      const own = this.waiting.get(key)
      if (own) own.push({ item, done, fail })
      else this.waiting.set(key, [{ item, done, fail }])
      if (!this.running.has(key)) void this.drain(key)
    })
  }

  private async drain(key: string): Promise<void> {
    this.running.add(key)
    // Whatever the same tick asks for comes along.
    await new Promise((next) => setImmediate(next))
    for (let lot = this.take(key); lot.length > 0; lot = this.take(key)) await this.doLot(key, lot)
    this.running.delete(key)
  }

  private take(key: string): Waiting<Item, Answer>[] {
    const own = this.waiting.get(key) ?? []
    const lot = own.splice(0, this.most)
    if (own.length === 0) this.waiting.delete(key)
    return lot
  }

  private async doLot(key: string, lot: readonly Waiting<Item, Answer>[]): Promise<void> {
    try {
      const answers = await this.work(
        key,
        lot.map(({ item }) => item),
      )
      lot.forEach(({ done }, index) => done(answers[index] as Answer))
    } catch (error) {
      if (lot.length === 1 || isOutage(error)) for (const { fail } of lot) fail(error)
      else for (const one of lot) await this.doLot(key, [one])
    }
  }
}
