/** Photos of a sheet or a machine: taken here, kept on the phone until the server has them, shown in both places. */
import { type ChangeEvent, type ReactNode, useEffect, useId, useState } from 'react'
import { serverNow } from '../client/clock.js'
import { useKeeping, usePage } from './kept.js'
import { pictureOf } from './outbox.js'
import { ask } from './server.js'
import { shrink } from './shrink.js'

interface Shown {
  id: string
  takenAt: string
  personName: string
  caption: string
  /** The entry on this phone that still holds it. */
  entryId: string | null
}

const PATH = '/api/v1/photos'

export function Photos({ machineId, workOrderId }: { machineId: string; workOrderId?: string }): ReactNode {
  const page = usePage<{ items: Omit<Shown, 'entryId'>[] }>(
    `${PATH}?${workOrderId ? `workOrderId=${workOrderId}` : `machineId=${machineId}`}`,
  )
  const keeping = useKeeping()
  const here = keeping
    .notIn(page.at)
    .filter(({ path, body }) => path === PATH && (workOrderId ? body.workOrderId === workOrderId : body.machineId === machineId))
    .map(({ id, body, savedAt }) => ({
      id: String(body.id),
      takenAt: String(body.takenAt),
      personName: 'you',
      caption: '',
      entryId: savedAt === undefined ? id : null,
    }))
  const saved = (page.data?.items ?? []).filter(({ id }) => here.every((one) => one.id !== id))
  const shown: Shown[] = [...here.reverse(), ...saved.map((photo) => ({ ...photo, entryId: null }))]
  return (
    <section className="part" aria-label="Photos">
      <h2>Photos</h2>
      {shown.length === 0 && page.data ? <p className="soft">None yet.</p> : null}
      {!page.data && page.error ? <p className="note">{page.error.message}</p> : null}
      <ul className="plain photos">
        {shown.map((photo) => (
          <li key={photo.id}>
            <OnePhoto photo={photo} />
          </li>
        ))}
      </ul>
      <Take
        onTaken={(content) =>
          keeping.keep(
            {
              kind: 'post',
              path: PATH,
              body: { id: crypto.randomUUID(), machineId, workOrderId: workOrderId ?? null, takenAt: serverNow() },
            },
            content,
          )
        }
      />
    </section>
  )
}

function Take({ onTaken }: { onTaken: (content: string) => Promise<void> }): ReactNode {
  const [said, setSaid] = useState('')
  const [fault, setFault] = useState('')
  const id = useId()
  const take = async (event: ChangeEvent<HTMLInputElement>): Promise<void> => {
    const { files } = event.target
    const [file] = files ?? []
    if (!file) return
    setFault('')
    setSaid('Making it smaller …')
    try {
      await onTaken(await shrink(file))
      setSaid('The photo is kept on this phone; it goes out after everything else.')
    } catch (error) {
      setSaid('')
      setFault((error as Error).message)
    }
    event.target.value = ''
  }
  return (
    <>
      <p role="status" className="small">
        {said}
      </p>
      {fault ? (
        <p className="note alarmed" role="alert">
          {fault}
        </p>
      ) : null}
      <input id={id} className="unseen" type="file" accept="image/*" capture="environment" onChange={(event) => void take(event)} />
      <label htmlFor={id} className="button">
        Take a photo
      </label>
      <p className="soft small">No people in the picture. Where and with what it was taken is left out.</p>
    </>
  )
}

function OnePhoto({ photo }: { photo: Shown }): ReactNode {
  const { store } = useKeeping()
  const [address, setAddress] = useState('')
  const [fault, setFault] = useState('')
  const { id, entryId } = photo
  useEffect(() => {
    let gone = false
    const read = async (): Promise<string> => {
      const kept = entryId === null ? null : await pictureOf(store, entryId)
      return kept ?? (await ask<{ content: string }>('GET', `${PATH}/${id}`)).content
    }
    read().then(
      (content) => !gone && setAddress(`data:image/jpeg;base64,${content}`),
      (error: Error) => !gone && setFault(error.message),
    )
    return () => {
      gone = true
    }
  }, [store, id, entryId])
  const when = `${photo.takenAt.slice(0, 10)}, ${photo.takenAt.slice(11, 16)} (UTC)`
  return (
    <figure>
      {address ? (
        <img src={address} alt={`By ${photo.personName}, ${when}`} />
      ) : fault ? (
        <p className="note">{fault}</p>
      ) : (
        <div className="bone" />
      )}
      <figcaption className="soft small">
        {photo.personName}, {when}. {entryId === null ? 'Saved.' : 'Only on this phone.'}
      </figcaption>
    </figure>
  )
}
