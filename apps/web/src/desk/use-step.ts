import { useRef } from 'react'

/** The first of two steps of one form: where the second does not come through, it is not made again by the next press. */
export function useStep<Answer>(): (said: unknown, doing: () => Promise<Answer>) => Promise<Answer> {
  const made = useRef<{ of: string; answer: Answer } | null>(null)
  return async (said, doing) => {
    const of = JSON.stringify(said)
    if (made.current?.of !== of) made.current = { of, answer: await doing() }
    return made.current.answer
  }
}
