/** Parts that are out of the books, asked for only when somebody looks. */
import { useQuery } from '@tanstack/react-query'
import { type ReactNode, useState } from 'react'
import { call } from '../client/api.js'
import { Bones, Fault } from '../ui/parts.js'
import type { Part } from './part-stock.js'
import { useChange } from './use-change.js'

export function PartsGone(): ReactNode {
  const [open, setOpen] = useState(false)
  return (
    <details onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>Parts out of the books</summary>
      {open ? <Gone /> : null}
    </details>
  )
}

function Gone(): ReactNode {
  const { error, change } = useChange()
  const gone = useQuery({ queryKey: ['parts', 'gone'], queryFn: () => call('listParts', { query: { inBooks: 'false', limit: 200 } }) })
  if (gone.error) return <Fault error={gone.error} again={() => void gone.refetch()} />
  if (!gone.data) return <Bones lines={2} />
  const putBack = (part: Part): Promise<unknown> => call('patchPart', { params: { partId: part.id }, body: { inBooks: true } })
  return (
    <>
      {error ? <Fault error={error} /> : null}
      {gone.data.items.length === 0 ? <p className="soft">None has been taken out.</p> : null}
      <ul className="plain">
        {gone.data.items.map((part) => (
          <li key={part.id}>
            {part.name} ({part.stockCode}){' '}
            <button className="small" aria-label={`Put back ${part.name}`} onClick={() => void change(() => putBack(part))}>
              Put back
            </button>
          </li>
        ))}
      </ul>
      {gone.data.nextCursor ? <p className="soft">Only the first 200 are shown.</p> : null}
    </>
  )
}
