/** What a scan gives: the address in a label's code ends in its token; a code typed by hand is itself. Pure. */
export const codeOf = (scanned: string): string => /\/L\/([0-9A-Z]+)\/?$/i.exec(scanned.trim())?.[1] ?? scanned.trim()

/** The station after this one, where its name ends in a number: 'B07' gives 'B08'. Else the same again. */
export function nextStation(name: string): string {
  const counted = /^(.*?)(\d+)$/.exec(name)
  const [, before = '', digits = ''] = counted ?? []
  return counted ? `${before}${String(Number(digits) + 1).padStart(digits.length, '0')}` : name
}
