/** A button that asks for its reason where the thumb is, and does nothing before it has one. */
import { type FormEvent, type ReactNode, useEffect, useId, useRef, useState } from 'react'

export function WithReason({
  open,
  question,
  confirm,
  suggestions = [],
  onGive,
}: {
  open: string
  question: string
  confirm: string
  suggestions?: readonly string[]
  /** Where it fails, it says so itself; the words stay in their field. */
  onGive: (reason: string) => void | Promise<void>
}): ReactNode {
  const [asking, setAsking] = useState(false)
  const [reason, setReason] = useState('')
  const id = useId()
  const field = useRef<HTMLInputElement>(null)
  useEffect(() => {
    if (asking) field.current?.focus()
  }, [asking])
  const giving = useRef(false)
  async function submit(event: FormEvent): Promise<void> {
    event.preventDefault()
    if (giving.current) return
    giving.current = true
    try {
      await onGive(reason.trim())
      setAsking(false)
      setReason('')
    } catch {
      // Said where it failed.
    } finally {
      giving.current = false
    }
  }
  if (!asking) return <button onClick={() => setAsking(true)}>{open}</button>
  return (
    <form className="asked" onSubmit={(event) => void submit(event)}>
      <label htmlFor={id}>{question}</label>
      <input ref={field} id={id} value={reason} maxLength={500} onChange={(event) => setReason(event.target.value)} autoComplete="off" />
      {suggestions.map((words) => (
        <button key={words} type="button" onClick={() => setReason(words)}>
          {words}
        </button>
      ))}
      <div className="pair">
        <button className="main" disabled={reason.trim() === ''}>
          {confirm}
        </button>
        <button type="button" onClick={() => setAsking(false)}>
          Leave it
        </button>
      </div>
    </form>
  )
}
