/** The station after this one, where its name ends in a number: 'B07' gives 'B08'. Else the same again. Pure. */
export function nextStation(name: string): string {
  const counted = /^(.*?)(\d+)$/.exec(name)
  const [, before = '', digits = ''] = counted ?? []
  return counted ? `${before}${String(Number(digits) + 1).padStart(digits.length, '0')}` : name
}
