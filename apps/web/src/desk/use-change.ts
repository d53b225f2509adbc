import { useQueryClient } from '@tanstack/react-query'
import { useRef, useState } from 'react'
import type { Answer } from '../client/api.js'

export type Hall = Answer<'getWarehouse'>
export interface HallPart {
  hall: Hall
  /** May who looks at it change it? */
  decides: boolean
}

/** Runs one change, then reads everything anew: a change here moves dates everywhere. A button pressed twice asks once. */
export function useChange(): { error: unknown; change: (doing: () => Promise<unknown>) => Promise<void> } {
  const queries = useQueryClient()
  const [error, setError] = useState<unknown>(null)
  const busy = useRef(false)
  const change = async (doing: () => Promise<unknown>): Promise<void> => {
    if (busy.current) return
    busy.current = true
    setError(null)
    try {
      await doing().finally(() => {
        busy.current = false
      })
      await queries.invalidateQueries()
      // Pages are told of what was read by a timer: only after it does what follows begin with it.
      await new Promise((next) => setTimeout(next))
    } catch (problem) {
      setError(problem)
    }
  }
  return { error, change }
}
