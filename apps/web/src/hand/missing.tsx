/** What was only on a phone and may be lost: named where the server knows it, said where nobody can. */
import { type ReactNode, useState } from 'react'
import { sayTime } from './age.js'
import type { Keeping } from './kept.js'
import type { Missing } from './words.js'

export function MissingHere({ keeping }: { keeping: Keeping }): ReactNode {
  const [fault, setFault] = useState('')
  const { saidBack } = keeping
  if (!saidBack) return null
  const storages = [...new Set(saidBack.missing.map(({ storageId }) => storageId))]
  if (saidBack.cleared && !storages.includes(saidBack.cleared.storageId)) storages.unshift(saidBack.cleared.storageId)
  const settle = (storageId: string, entries: readonly Missing[]): void =>
    void keeping
      .settle(
        storageId,
        entries.map(({ id }) => id),
      )
      .then(
        () => setFault(''),
        (error: Error) => setFault(error.message),
      )
  return (
    <>
      {fault ? (
        <p className="note alarmed" role="alert">
          {fault}
        </p>
      ) : null}
      {storages.map((storageId, index) => {
        const entries = saidBack.missing.filter((one) => one.storageId === storageId)
        const cleared = saidBack.cleared?.storageId === storageId ? saidBack.cleared.lastSaidAt : null
        return <OfStorage key={storageId} place={index + 1} entries={entries} cleared={cleared} onSeen={() => settle(storageId, entries)} />
      })}
    </>
  )
}

interface Lost {
  /** Of several, so that each section has a name of its own. */
  place: number
  entries: Missing[]
  /** When that storage last spoke, where it was this phone's; else null. */
  cleared: string | null
  onSeen: () => void
}

function OfStorage({ place, entries, cleared, onSeen }: Lost): ReactNode {
  const [later, setLater] = useState(false)
  if (later) return null
  const many = entries.length === 1 ? '1 entry' : `${entries.length} entries`
  return (
    <section className="note alarmed" aria-label={`What may be lost, ${place}`}>
      {cleared !== null ? (
        <p className="strong">
          The storage of this phone was cleared.{' '}
          {entries.length > 0
            ? `${many} had been kept here and never reached the server:`
            : `When it last spoke with the server, ${sayTime(cleared)}, nothing was waiting on it.`}
        </p>
      ) : (
        <p className="strong">{many} of yours stood on another phone, or on this one before, and never reached the server:</p>
      )}
      {entries.length > 0 ? (
        <ul>
          {entries.map(({ id, what, madeAt }) => (
            <li key={id}>
              {what}, {sayTime(madeAt)}
            </li>
          ))}
        </ul>
      ) : null}
      {cleared !== null ? (
        <p>What was entered without a network after {sayTime(cleared)} cannot be known: enter again what you remember.</p>
      ) : (
        <p>
          If that phone still has them, open these pages there with the network. If its storage was cleared, they are lost: enter them
          again.
        </p>
      )}
      <div className="stack">
        <button onClick={onSeen}>
          {entries.length === 0 ? 'I have read this' : 'They are lost: I enter them again, or they are not needed'}
        </button>
        {cleared === null ? <button onClick={() => setLater(true)}>The other phone still has them</button> : null}
      </div>
    </section>
  )
}
