/** A finger in a glove taps twice: what has just come to stand under it is not pressed by the second tap. */
import { type MouseEvent, useEffect, useRef } from 'react'

/** Longer than between two taps of one finger, shorter than reading what is new. */
export const SETTLE_MS = 300

/**
 * @param shown changes whenever a tap changes what stands where; null: nothing stands there yet
 * @returns for the element around it all. Keys and what reads the page aloud press without a place (detail 0) and are not held up.
 */
export function useSettled(shown: string | null): { onClickCapture: (event: MouseEvent) => void } {
  const since = useRef(-SETTLE_MS)
  const last = useRef(shown)
  useEffect(() => {
    if (last.current !== null && last.current !== shown) since.current = performance.now()
    last.current = shown
  }, [shown])
  return {
    onClickCapture: (event) => {
      if (event.detail === 0 || performance.now() - since.current >= SETTLE_MS) return
      event.preventDefault()
      event.stopPropagation()
    },
  }
}
