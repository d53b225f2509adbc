/** Values made from a JSON schema: mostly such as it asks for, now and then quite others. */
import type { Dice } from './random.js'

type Json = Record<string, unknown>

export const NASTY: readonly unknown[] = [
  null,
  '',
  ' ',
  0,
  -0,
  -1,
  1e308,
  -1e308,
  2 ** 53,
  0.1,
  true,
  [],
  {},
  [[[[[[]]]]]],
  '\u0000',
  'a\u0000b',
  '\ud800',
  '💥'.repeat(50),
  'x'.repeat(5000),
  '../../etc/passwd',
  "'; DROP TABLE machine; --",
  '{{7*7}}',
  '=1+1',
  '%00',
  '9999-12-31',
  '2026-02-30',
  '0000-00-00T00:00:00Z',
  '00000000-0000-0000-0000-000000000000',
  'NaN',
  'Infinity',
  { __proto__: null, constructor: 1 },
  { toString: 1 },
]

const TEXTS = ['A', 'North', 'Brush set', 'blade', 'Straße 5 — Halle', 'x'.repeat(60)]
const DAYS = ['2026-05-01', '2026-05-20', '1900-01-01', '2200-12-31', '2024-02-29']
const OF_PATTERN = ['2026-05', '06:30', 'EUR', 'blade', 'A-1', 'motor_brush_set']

/** @param ids  ids that name something here */
export class FromSchema {
  constructor(
    private readonly dice: Dice,
    private readonly ids: readonly string[],
  ) {}

  make(schema: Json, depth = 0): unknown {
    if (this.dice.chance(0.04)) return this.dice.pick(NASTY)
    if ('const' in schema) return schema.const
    if (Array.isArray(schema.enum)) return this.dice.pick(schema.enum)
    const several = (schema.anyOf ?? schema.oneOf) as Json[] | undefined
    if (several) return this.make(this.dice.pick(several), depth + 1)
    switch (Array.isArray(schema.type) ? this.dice.pick(schema.type as string[]) : schema.type) {
      case 'object':
        return this.object(schema, depth)
      case 'array':
        return Array.from({ length: depth > 6 ? 0 : this.dice.below(3) }, () => this.make((schema.items ?? {}) as Json, depth + 1))
      case 'integer':
      case 'number':
        return this.number(schema)
      case 'boolean':
        return this.dice.chance(0.5)
      case 'null':
        return null
      case 'string':
        return this.text(schema)
      default:
        return this.dice.pick(NASTY)
    }
  }

  private object(schema: Json, depth: number): Json {
    const required = (schema.required ?? []) as string[]
    const made: Json = {}
    for (const [key, value] of Object.entries((schema.properties ?? {}) as Record<string, Json>))
      if (this.dice.chance(required.includes(key) ? 0.97 : 0.4)) made[key] = this.make(value, depth + 1)
    if (this.dice.chance(0.03))
      made[this.dice.pick(['__proto__', 'constructor', 'nonsense', 'organisationId', 'id'])] = this.dice.pick(NASTY)
    return made
  }

  private number(schema: Json): number {
    const least = Number(schema.minimum ?? schema.exclusiveMinimum ?? -5)
    const most = Math.min(Number(schema.maximum ?? 1000), 1e9)
    const value = this.dice.pick([least, most, least + 1, least + this.dice.next() * (Math.min(most, least + 1000) - least)])
    return schema.type === 'integer' ? Math.round(value) : value
  }

  private text(schema: Json): string {
    const { format, pattern, maxLength } = schema as { format?: string; pattern?: string; maxLength?: number }
    if (format === 'uuid') return this.dice.pick(this.ids)
    if (format === 'date') return this.dice.pick(DAYS)
    if (format === 'date-time') return `${this.dice.pick(DAYS)}T08:00:00Z`
    if (format === 'email') return `p${this.dice.below(1e9)}@fuzz.example`
    if (pattern !== undefined) return this.dice.pick(OF_PATTERN)
    return `${this.dice.pick(TEXTS)}${this.dice.below(1e6)}`.slice(0, maxLength ?? 200)
  }
}
