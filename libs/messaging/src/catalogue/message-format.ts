/** The part of ICU MessageFormat that our sentences need: {name} and {count, plural, =0 {…} one {…} other {…}} with '#'. */
export type Value = string | number
export type Values = Readonly<Record<string, Value>>

type Part = { text: string } | { name: string } | { count: string; cases: ReadonlyMap<string, readonly Part[]> } | { hash: true }

class Reader {
  at = 0

  constructor(private readonly source: string) {}

  /** Reads to the end, or to the brace that closes an inner message. */
  message(inPlural: boolean): Part[] {
    const parts: Part[] = []
    let text = ''
    const flush = () => {
      if (text !== '') parts.push({ text })
      text = ''
    }
    while (this.at < this.source.length && this.source[this.at] !== '}') {
      const sign = this.source[this.at++] as string
      if (sign === '{') {
        flush()
        parts.push(this.placeholder())
      } else if (sign === '#' && inPlural) {
        flush()
        parts.push({ hash: true })
      } else text += sign
    }
    flush()
    return parts
  }

  private placeholder(): Part {
    const found = /^\s*(\w+)\s*(?:,\s*plural\s*,\s*)?/.exec(this.source.slice(this.at))
    if (!found) throw new SyntaxError(`No name at ${this.at} in: ${this.source}`)
    this.at += found[0].length
    const name = found[1] as string
    if (!found[0].includes(',')) {
      this.close()
      return { name }
    }
    const cases = new Map<string, readonly Part[]>()
    for (;;) {
      const next = /^\s*(=\d+|\w+)\s*\{/.exec(this.source.slice(this.at))
      if (!next) break
      this.at += next[0].length
      cases.set(next[1] as string, this.message(true))
      this.close()
    }
    this.at += /^\s*/.exec(this.source.slice(this.at))?.[0].length ?? 0
    this.close()
    if (!cases.has('other')) throw new SyntaxError(`A plural without 'other' in: ${this.source}`)
    return { count: name, cases }
  }

  private close(): void {
    if (this.source[this.at] !== '}') throw new SyntaxError(`A brace is missing at ${this.at} in: ${this.source}`)
    this.at += 1
  }
}

const parsed = new Map<string, readonly Part[]>()

/** @throws SyntaxError for braces that do not match or a plural without 'other' */
export function parseMessage(source: string): readonly Part[] {
  const known = parsed.get(source)
  if (known) return known
  const reader = new Reader(source)
  const parts = reader.message(false)
  if (reader.at !== source.length) throw new SyntaxError(`A brace too many at ${reader.at} in: ${source}`)
  parsed.set(source, parts)
  return parts
}

/** Names of the values that a message asks for, sorted. */
export function namesIn(source: string): string[] {
  const names = new Set<string>()
  const walk = (parts: readonly Part[]): void => {
    for (const part of parts) {
      if ('name' in part) names.add(part.name)
      if ('count' in part) {
        names.add(part.count)
        for (const inner of part.cases.values()) walk(inner)
      }
    }
  }
  walk(parseMessage(source))
  return [...names].sort()
}

const rules = new Map<string, Intl.PluralRules>()
const numbers = new Map<string, Intl.NumberFormat>()

export function kept<Kept>(map: Map<string, Kept>, key: string, make: () => Kept): Kept {
  const found = map.get(key)
  if (found) return found
  const made = make()
  map.set(key, made)
  return made
}

export function formatNumber(locale: string, value: number): string {
  return kept(numbers, locale, () => new Intl.NumberFormat(locale, { maximumFractionDigits: 1 })).format(value)
}

/**
 * @param locale a BCP 47 tag; decides plural forms and how numbers look
 * @throws RangeError where the message asks for a value that is not given
 */
export function formatMessage(locale: string, source: string, values: Values): string {
  const valueOf = (name: string): Value => {
    const value = values[name]
    if (value === undefined) throw new RangeError(`The sentence '${source}' needs '${name}'.`)
    return value
  }
  const write = (parts: readonly Part[], count: number | null): string =>
    parts
      .map((part) => {
        if ('text' in part) return part.text
        if ('hash' in part) return formatNumber(locale, count ?? 0)
        if ('name' in part) {
          const value = valueOf(part.name)
          return typeof value === 'number' ? formatNumber(locale, value) : value
        }
        const number = Number(valueOf(part.count))
        const form = kept(rules, locale, () => new Intl.PluralRules(locale)).select(number)
        const chosen = part.cases.get(`=${number}`) ?? part.cases.get(form) ?? part.cases.get('other') ?? []
        return write(chosen, number)
      })
      .join('')
  return write(parseMessage(source), null)
}
