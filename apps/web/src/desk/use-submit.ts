import { type FormEvent, useState } from 'react'

/** A form sent once at a time: what went wrong, and whether it is under way. */
export function useSubmit(doing: (form: FormData) => Promise<void>): {
  error: unknown
  busy: boolean
  submit: (event: FormEvent<HTMLFormElement>) => void
} {
  const [error, setError] = useState<unknown>(null)
  const [busy, setBusy] = useState(false)
  const submit = (event: FormEvent<HTMLFormElement>): void => {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    setBusy(true)
    setError(null)
    doing(form)
      .catch(setError)
      .finally(() => setBusy(false))
  }
  return { error, busy, submit }
}
