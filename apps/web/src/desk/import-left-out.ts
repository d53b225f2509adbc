/** Columns of a file that no field takes: named, so that none is lost without a word. Pure. */
import type { Answer } from '../client/api.js'

export function leftOut(
  { headings, sample }: Pick<Answer<'getImport'>, 'headings' | 'sample'>,
  mapping: Readonly<Record<string, number>>,
): string {
  const taken = new Set(Object.values(mapping))
  const filled = (at: number): boolean => sample.some((row) => (row[at] ?? '').trim() !== '')
  const names = headings.flatMap((heading, at) => {
    if (taken.has(at) || (heading === '' && !filled(at))) return []
    return [heading === '' ? `column ${at + 1}` : `‘${heading}’`]
  })
  return names.length === 0 ? '' : `Left out, as nothing above takes it: ${names.join(', ')}.`
}
