/** One's calendars behind secret addresses: made, shown once, ended. */
import { useQuery } from '@tanstack/react-query'
import { type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { sayInstant } from '../ui/format.js'
import { Bones, Fault } from '../ui/parts.js'
import { useMe } from './me.js'
import { useChange } from './use-change.js'

type Made = Answer<'createCalendarFeed'>

export function Calendars(): ReactNode {
  const me = useMe()
  const { error, change } = useChange()
  const [made, setMade] = useState<Made | null>(null)
  const feeds = useQuery({ queryKey: ['calendar-feeds'], queryFn: () => call('listCalendarFeeds') })
  const make = (warehouseId: string): void => void change(async () => setMade(await call('createCalendarFeed', { body: { warehouseId } })))
  const end = (feedId: string): void =>
    void change(async () => {
      await call('revokeCalendarFeed', { params: { feedId } })
      setMade(null)
    })
  return (
    <section aria-labelledby="calendars">
      <h2 id="calendars">Calendars to subscribe to</h2>
      <p>
        A calendar program can show what is open in a warehouse. It is a view and not the alert: many programs look only every 4 to 24
        hours. What counts is the mail and this desk.
      </p>
      {error ? <Fault error={error} /> : null}
      {feeds.error ? <Fault error={feeds.error} again={() => void feeds.refetch()} /> : null}
      {feeds.isPending ? <Bones lines={3} /> : null}
      {made ? <Address made={made} /> : null}
      <ul className="plain sentences">
        {feeds.data
          ? me.warehouses.map(({ id, name, zone }) => {
              const feed = feeds.data.items.find(({ warehouse }) => warehouse.id === id)
              return (
                <li key={id}>
                  {name}:{' '}
                  {feed
                    ? `made ${sayInstant(feed.createdAt, zone)}, ${feed.lastReadAt ? `last read ${sayInstant(feed.lastReadAt, zone)}` : 'never read yet'}. `
                    : 'no calendar. '}
                  <button aria-label={`${feed ? 'Make a new address' : 'Make an address'} for ${name}`} onClick={() => make(id)}>
                    {feed ? 'Make a new address, end this one' : 'Make an address'}
                  </button>{' '}
                  {feed ? (
                    <button aria-label={`End the calendar of ${name}`} onClick={() => end(feed.id)}>
                      End it now
                    </button>
                  ) : null}
                </li>
              )
            })
          : null}
      </ul>
    </section>
  )
}

function Address({ made }: { made: Made }): ReactNode {
  const [copied, setCopied] = useState(false)
  return (
    <div className="note">
      <p>
        The address for {made.warehouse.name}. Whoever has it can read the calendar, so keep it to yourself. It is shown this once; it is
        not kept here.
      </p>
      <p style={{ overflowWrap: 'anywhere' }}>
        <code>{made.url}</code>
      </p>
      <button onClick={() => void navigator.clipboard?.writeText(made.url).then(() => setCopied(true))}>
        {copied ? 'Copied' : 'Copy the address'}
      </button>
    </div>
  )
}
