/** Filters that are kept under a name, as links; what is looked at now is kept by naming it. */
import { useQuery } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useState } from 'react'
import { Link, useLocation } from 'react-router'
import { call } from '../client/api.js'
import { Fault, Field } from '../ui/parts.js'
import { useChange } from './use-change.js'

const ADDRESS = { coming_up: '/coming-up', machines: '/machines', stoppages: '/stoppages' } as const

export function SavedViews({ place }: { place: keyof typeof ADDRESS }): ReactNode {
  const { search } = useLocation()
  const now = search.replace(/^\?/, '')
  const views = useQuery({ queryKey: ['saved-views'], queryFn: () => call('listSavedViews') })
  const { error, change } = useChange()
  const [naming, setNaming] = useState(false)
  const own = views.data?.items.filter((view) => view.place === place) ?? []
  function save(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const name = String(new FormData(event.currentTarget).get('name'))
    void change(() => call('saveView', { body: { place, name, search: now } }).then(() => setNaming(false)))
  }
  return (
    <div className="no-print">
      <div className="row small">
        {own.map((view) => (
          <span key={view.id}>
            <Link to={`${ADDRESS[place]}?${view.search}`} aria-current={view.search === now ? 'page' : undefined}>
              {view.name}
            </Link>{' '}
            <button
              className="small"
              aria-label={`Forget the view ${view.name}`}
              onClick={() => void change(() => call('removeView', { params: { savedViewId: view.id } }))}
            >
              ×
            </button>
          </span>
        ))}
        {now !== '' && !own.some((view) => view.search === now) && !naming ? (
          <button className="small" onClick={() => setNaming(true)}>
            Keep this view…
          </button>
        ) : null}
      </div>
      {views.error ? <Fault error={views.error} again={() => void views.refetch()} /> : null}
      {error ? <Fault error={error} /> : null}
      {naming ? (
        <form onSubmit={save} className="row">
          <Field label="Name of the view">{(id) => <input id={id} name="name" required maxLength={60} />}</Field>
          <button className="main">Keep it</button>
          <button type="button" onClick={() => setNaming(false)}>
            Leave it
          </button>
        </form>
      ) : null}
    </div>
  )
}
