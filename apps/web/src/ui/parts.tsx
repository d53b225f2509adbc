/** Small parts that both applications share: states of a page, faults, fields. */
import { type ReactNode, useEffect, useId, useRef, useState } from 'react'
import { ApiProblem, InWords } from '../client/problems.js'

/** Sets the page's title and moves focus to its heading, so that a screen reader hears where it is. */
export function Heading({ children, title }: { children: ReactNode; title: string }): ReactNode {
  const ref = useRef<HTMLHeadingElement>(null)
  useEffect(() => {
    document.title = `${title} – Tapewarden`
    // Who types a label in the head while the page comes goes on typing.
    if (!document.activeElement?.closest('.find')) ref.current?.focus()
  }, [title])
  return (
    <h1 ref={ref} tabIndex={-1}>
      {children}
    </h1>
  )
}

/** What, why, what to do, what was kept. */
export function Fault({ error, again }: { error: unknown; again?: () => void }): ReactNode {
  const problem = error instanceof ApiProblem ? error : null
  const denied = problem?.status === 403
  /** What is said above once is not said again beside its place. */
  const places = problem?.errors.filter(({ message }) => message !== problem.message) ?? []
  return (
    <div className="note alarmed" role="alert">
      <p>
        {denied
          ? 'This page is not for your role. A manager or an administrator can open it.'
          : error instanceof InWords || problem
            ? (error as Error).message
            : 'Something went wrong on this page. Nothing you sent is lost.'}
      </p>
      {places.length > 0 ? (
        <ul>
          {places.map(({ pointer, message }) => (
            <li key={`${pointer}${message}`}>
              {pointer.replace(/^\//, '').replaceAll('/', ' › ') || 'The whole'} {message}
            </li>
          ))}
        </ul>
      ) : null}
      {again && !denied ? <button onClick={again}>Try again</button> : null}
    </div>
  )
}

/** What was done, said where a form stood that is gone: it takes the focus along. */
export function Said({ children }: { children: ReactNode }): ReactNode {
  const said = useRef<HTMLParagraphElement>(null)
  useEffect(() => said.current?.focus(), [])
  return (
    <p ref={said} className="note" role="status" tabIndex={-1}>
      {children}
    </p>
  )
}

/** A page of which nothing could be read: it still says where one is. */
export function NoPage({ title, error, again }: { title: string; error: unknown; again?: () => void }): ReactNode {
  return (
    <>
      <Heading title={title}>{title}</Heading>
      <Fault error={error} {...(again ? { again } : {})} />
    </>
  )
}

/** Longer than a slow page takes. */
const LATE_MS = 8000

/** A grey likeness of the page to come, so that nothing jumps; it says when it is long in coming. */
export function Bones({ lines = 6 }: { lines?: number }): ReactNode {
  const [late, setLate] = useState(false)
  useEffect(() => {
    const timer = setTimeout(() => setLate(true), LATE_MS)
    return () => clearTimeout(timer)
  }, [])
  return (
    <div aria-busy="true" aria-live="polite">
      {late ? <p className="soft">Still waiting for the server …</p> : <span className="seen-by-readers">Loading</span>}
      {Array.from({ length: lines }, (_, index) => (
        <div key={index} className="bone" style={{ width: `${90 - ((index * 17) % 50)}%` }} />
      ))}
    </div>
  )
}

export function Field({
  label,
  hint,
  fault,
  unit,
  children,
}: {
  label: string
  hint?: string | undefined
  fault?: string | undefined
  unit?: string | undefined
  children: (id: string) => ReactNode
}): ReactNode {
  const id = useId()
  return (
    <div className="field">
      <label htmlFor={id}>{label}</label>
      <div className={unit ? 'unit' : undefined}>
        {children(id)}
        {unit ? <span className="soft">{unit}</span> : null}
      </div>
      {hint ? <div className="hint">{hint}</div> : null}
      {fault ? (
        <div className="fault" role="alert">
          {fault}
        </div>
      ) : null}
    </div>
  )
}

/** One of a few answers in a form. */
export function Choice({
  label,
  name,
  hint,
  options,
}: {
  label: string
  name: string
  hint?: string
  /** [value sent, words shown]; the first is chosen to begin with. */
  options: readonly (readonly [string, string])[]
}): ReactNode {
  return (
    <Field label={label} hint={hint}>
      {(id) => (
        <select id={id} name={name}>
          {options.map(([value, words]) => (
            <option key={value} value={value}>
              {words}
            </option>
          ))}
        </select>
      )}
    </Field>
  )
}

/** Around a table of figures alone, which may be wider than a phone and holds nothing that takes the focus: the arrow keys scroll it. */
export function Figures({ children }: { children: ReactNode }): ReactNode {
  return (
    // oxlint-disable-next-line jsx-a11y/no-noninteractive-tabindex -- what scrolls must be reached by the keyboard
    <div className="wide" role="group" aria-label="The same as a table" tabIndex={0}>
      {children}
    </div>
  )
}
