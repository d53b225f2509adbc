/** The way to a machine by its label: camera, hand scanner, or the letters typed. */
import { type ReactNode, useCallback, useEffect, useState } from 'react'
import { sayAge } from './age.js'
import { useKeeping } from './kept.js'
import { bringMachines, labelCodeOf, machinesKept } from './machines-kept.js'
import { readScan, scannerKeys } from './scan.js'
import { ScanOrType } from './scan-or-type.js'

const FIELDS = new Set(['INPUT', 'TEXTAREA', 'SELECT'])

/** The list is large: what is shown goes first on a slow network. */
const BRING_AFTER_MS = 1500

/** A scan says that the machine is here, which a tap on a list does not: the page then looks whether that is a surprise. */
export const SCANNED = 'scanned'

export function ByLabel({ warehouseIds }: { warehouseIds: readonly string[] }): ReactNode {
  const { store, online } = useKeeping()
  const [kept, setKept] = useState<{ count: number; at: string } | null>(null)
  const names = warehouseIds.join(' ')
  useEffect(() => {
    let gone = false
    const show = async (): Promise<void> => {
      setKept(await machinesKept(store))
      if (!online) return
      await new Promise((later) => setTimeout(later, BRING_AFTER_MS))
      if (gone) return
      await bringMachines(store, names === '' ? [] : names.split(' ')).catch(() => undefined)
      if (!gone) setKept(await machinesKept(store))
    }
    void show()
    return () => {
      gone = true
    }
  }, [store, online, names])
  const go = useCallback(
    async (text: string): Promise<void> => {
      const found = await labelCodeOf(store, readScan(text))
      if (found) location.hash = `/machine/${encodeURIComponent(found)}/${SCANNED}`
    },
    [store],
  )
  useEffect(() => {
    const type = scannerKeys((text) => void go(text))
    const heard = (event: KeyboardEvent): void => {
      if (!FIELDS.has((event.target as HTMLElement).tagName)) type(event.key, event.timeStamp)
    }
    addEventListener('keydown', heard)
    return () => removeEventListener('keydown', heard)
  }, [go])
  return (
    <>
      <ScanOrType verb="Open" onCode={go} />
      <p className="soft small two-lines">
        {kept
          ? `${kept.count} ${kept.count === 1 ? 'machine opens' : 'machines open'} here without a network. ${sayAge(kept.at)}`
          : 'No machine is kept on this phone yet.'}
      </p>
    </>
  )
}
