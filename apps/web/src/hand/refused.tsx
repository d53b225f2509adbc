/** What the server did not take in: what it was and why, to be sent again once the reason is gone, or taken off the phone. */
import { type ReactNode, useEffect, useState } from 'react'
import { sayTime } from './age.js'
import type { Keeping } from './kept.js'
import { forgetRefused, type KeptEntry } from './outbox.js'
import { whatOf } from './what.js'

/** Shown without being asked for. */
const FEW = 5

export function NotTakenIn({ keeping }: { keeping: Keeping }): ReactNode {
  const { refused, store } = keeping
  const [words, setWords] = useState<ReadonlyMap<string, string>>(new Map())
  const [sure, setSure] = useState(false)
  useEffect(() => {
    let gone = false
    void Promise.all(refused.map(async (entry) => [entry.id, await whatOf(store, entry)] as const)).then((all) => {
      if (!gone) setWords(new Map(all))
    })
    return () => {
      gone = true
    }
  }, [refused, store])
  if (refused.length === 0) return null
  const ids = refused.map(({ id }) => id)
  const forget = async (): Promise<void> => {
    for (const id of ids) await forgetRefused(store, id)
    setSure(false)
    await keeping.again()
  }
  const lines = (some: readonly KeptEntry[]): ReactNode => (
    <ul>
      {some.map(({ id, refused: reason, keptAt }) => (
        <li key={id}>
          {words.get(id) ?? '…'}, {sayTime(keptAt)}. {reason}
        </li>
      ))}
    </ul>
  )
  return (
    <section className="note alarmed" aria-label="Not taken in" role="alert">
      <p className="strong">
        {refused.length === 1 ? '1 entry was not taken in.' : `${refused.length} entries were not taken in.`} Still on this phone:
      </p>
      {lines(refused.slice(0, FEW))}
      {refused.length > FEW ? (
        <details>
          <summary>{refused.length - FEW} more</summary>
          {lines(refused.slice(FEW))}
        </details>
      ) : null}
      <div className="stack">
        <button onClick={() => void keeping.sendAgain(ids)}>Send {refused.length === 1 ? 'it' : 'them'} again</button>
        {sure ? (
          <button onClick={() => void forget()}>Yes, take {refused.length === 1 ? 'it' : `all ${refused.length}`} off this phone</button>
        ) : (
          <button onClick={() => setSure(true)}>Not needed: take {refused.length === 1 ? 'it' : 'them'} off this phone</button>
        )}
      </div>
    </section>
  )
}
