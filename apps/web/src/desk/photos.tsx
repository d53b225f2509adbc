/** Photos taken on site, of a machine or of one work order; each is loaded when its line is opened. */
import { useQuery, useQueryClient } from '@tanstack/react-query'
import { type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { AskOnce } from '../ui/ask-once.js'
import { sayInstant } from '../ui/format.js'
import { Fault } from '../ui/parts.js'

type Photo = Answer<'listPhotos'>['items'][number]

export function Photos({ of, zone }: { of: { machineId: string } | { workOrderId: string }; zone: string }): ReactNode {
  const key = ['photos', of]
  const queries = useQueryClient()
  const photos = useQuery({ queryKey: key, queryFn: () => call('listPhotos', { query: of }) })
  if (photos.error) return <Fault error={photos.error} again={() => void photos.refetch()} />
  if (!photos.data || photos.data.items.length === 0) return null
  return (
    <section aria-labelledby="photos">
      <h2 id="photos">Photos from the site</h2>
      {photos.data.items.map((photo) => (
        <One key={photo.id} photo={photo} zone={zone} onRemoved={() => void queries.invalidateQueries({ queryKey: key })} />
      ))}
    </section>
  )
}

function One({ photo, zone, onRemoved }: { photo: Photo; zone: string; onRemoved: () => void }): ReactNode {
  const [open, setOpen] = useState(false)
  const [error, setError] = useState<unknown>(null)
  const params = { photoId: photo.id }
  const file = useQuery({ queryKey: ['photo', photo.id], queryFn: () => call('getPhoto', { params }), enabled: open, staleTime: Infinity })
  const when = sayInstant(photo.takenAt, zone)
  return (
    <details onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>
        {when}, {photo.personName}
        {photo.caption ? `: ${photo.caption}` : ''}
      </summary>
      {file.error || error ? <Fault error={file.error ?? error} /> : null}
      {file.data ? (
        <img
          className="photo"
          src={`data:image/jpeg;base64,${file.data.content}`}
          alt={`By ${photo.personName}, ${when}`}
          width={photo.widthPx}
          height={photo.heightPx}
        />
      ) : (
        <div className="bone" />
      )}
      <AskOnce
        open="Remove this photo…"
        name={`of ${when}`}
        confirm="Remove it"
        leave="Leave it"
        onDo={() => void call('removePhoto', { params }).then(onRemoved, setError)}
      >
        It is gone for good, for everybody.
      </AskOnce>
    </details>
  )
}
