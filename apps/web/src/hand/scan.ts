/** What a scan says, and whether the place it was scanned at is a surprise. Pure. */

/** Letters of a printed label's code: opaque, twelve of Crockford's base 32. */
const LABEL_ADDRESS = /\/L\/([0-9A-HJKMNP-TV-Z]{12})(?:[/?#]|$)/i

/** A camera and a hand scanner read the label's whole address, a person types the letters beside it. */
export function readScan(text: string): string {
  const asked = text.trim()
  return LABEL_ADDRESS.exec(asked)?.[1]?.toUpperCase() ?? asked
}

export interface Placed {
  status: string
  warehouse: { id: string; name: string } | null
  station: { name: string; line: string } | null
}

const SOMEWHERE_ELSE: Readonly<Record<string, string>> = {
  on_the_shelf: 'on the shelf',
  at_the_bench: 'at the bench',
  away_for_repair: 'away for repair',
  not_found: 'not found',
  retired: 'retired',
}

/**
 * A label that was scanned is under somebody's hand, so the books are wrong where they say it is elsewhere.
 * @param hereWarehouseId where the one who scans is today (their visit, or their last scan); null: not known
 * @returns why the place is a surprise, in words; null: it is none
 */
export function surprisedBy(machine: Placed, hereWarehouseId: string | null): string | null {
  const elsewhere = SOMEWHERE_ELSE[machine.status]
  if (elsewhere) return `The books say: ${elsewhere}.`
  if (machine.warehouse && hereWarehouseId !== null && machine.warehouse.id !== hereWarehouseId)
    return `It is registered in another warehouse: ${machine.warehouse.name}.`
  return machine.station ? null : 'It is registered at no station.'
}

/** Keys of a hand scanner come faster than a person types; the slowest scanners need about 30 ms a letter. */
const SCANNER_GAP_MS = 60
const SHORTEST = 3

/** Gathers what a hand scanner types while no field has the focus. */
export function scannerKeys(onScan: (text: string) => void): (key: string, atMs: number) => void {
  let typed = ''
  let lastMs = Number.NEGATIVE_INFINITY
  return (key, atMs) => {
    if (atMs - lastMs > SCANNER_GAP_MS) typed = ''
    lastMs = atMs
    if (key.length === 1) typed += key
    else if (key === 'Enter') {
      if (typed.length >= SHORTEST) onScan(typed)
      typed = ''
    }
  }
}
