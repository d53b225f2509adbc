/** A form over something that others may change, too: only what was typed is sent, and what another changed meanwhile is said beside it. */
import { type ReactNode, useState } from 'react'
import { ApiProblem } from '../client/problems.js'
import { Fault } from '../ui/parts.js'
import { useChange } from './use-change.js'

/** What each field is called, and its value in words. */
export type Words<Fields> = { [Key in keyof Fields]?: readonly [name: string, say: (value: Fields[Key]) => string] }

const same = (one: unknown, other: unknown): boolean => JSON.stringify(one) === JSON.stringify(other)
const changedMeanwhile = (problem: unknown): boolean => problem instanceof ApiProblem && problem.code === 'CHANGED_MEANWHILE'

export function useRecordChange<Fields extends object>({
  record,
  read,
  send,
  onEnd,
}: {
  record: Fields & { version: number }
  /** As it is now, asked for after a conflict. */
  read: () => Promise<Fields & { version: number }>
  send: (body: Partial<Fields> & { version: number }) => Promise<unknown>
  onEnd: () => void
}): { opened: Fields; now: Fields; error: unknown; keep: (typed: Fields) => void } {
  // The list behind may be read anew while this is open: what was typed is held against what it began with.
  const [opened] = useState(record)
  const [now, setNow] = useState(record)
  const { error, change } = useChange()
  const keep = (typed: Fields): void => {
    const entries = Object.entries(typed).filter(([key, value]) => !same(value, opened[key as keyof Fields]))
    // A change of what does not stand in this form is no conflict, whether the page has read of it already or not.
    const agrees = (fresh: Fields): boolean => Object.keys(typed).every((key) => same(fresh[key as keyof Fields], now[key as keyof Fields]))
    const sendAt = (version: number): Promise<unknown> => send({ ...(Object.fromEntries(entries) as Partial<Fields>), version })
    let kept = false
    const doing = async (): Promise<void> => {
      try {
        if (entries.length > 0) await sendAt(agrees(record) && record.version > now.version ? record.version : now.version)
      } catch (problem) {
        if (!changedMeanwhile(problem)) throw problem
        const fresh = await read()
        if (!agrees(fresh)) {
          setNow(fresh)
          throw problem
        }
        await sendAt(fresh.version)
      }
      kept = true
    }
    void change(doing).then(() => (kept ? onEnd() : undefined))
  }
  return { opened, now, error, keep }
}

/** For a form that stands open on its page: it follows what is read until something is done in it, and again once that is kept. */
export function useUntouched(read: string): { key: string; touch: () => void; follow: () => void } {
  const [touched, setTouched] = useState<string | null>(null)
  return { key: touched ?? read, touch: () => setTouched((before) => before ?? read), follow: () => setTouched(null) }
}

export function RecordFault<Fields extends object>({
  error,
  opened,
  now,
  words,
  keep = 'Keep',
}: {
  error: unknown
  opened: Fields
  now: Fields
  words: Words<Fields>
  /** What its button says. */
  keep?: string
}): ReactNode {
  if (!error) return null
  if (!changedMeanwhile(error)) return <Fault error={error} />
  const theirs = (Object.keys(words) as (keyof Fields)[]).filter((key) => !same(opened[key], now[key]))
  return (
    <div className="note alarmed" role="alert">
      <p>Somebody changed this while it was open here. What you typed is still here.</p>
      {theirs.length > 0 ? (
        <ul>
          {theirs.map((key) => (
            <li key={String(key)}>
              {words[key]?.[0]} is now {words[key]?.[1](now[key])}.
            </li>
          ))}
        </ul>
      ) : null}
      <p>{keep} puts what you changed over it and leaves the rest as it is now.</p>
    </div>
  )
}
