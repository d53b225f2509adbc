/** Word to other programs: who hears of what, whether it arrives, and the tellings of each. */
import { useQuery } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useState } from 'react'
import { type Answer, BY_ITSELF, call } from '../client/api.js'
import { AskOnce } from '../ui/ask-once.js'
import { sayCount, sayInstant } from '../ui/format.js'
import { Bones, Fault, Field, Heading } from '../ui/parts.js'
import { useMe } from './me.js'
import { useChange } from './use-change.js'
import { Tellings } from './webhook-tellings.js'

type Webhook = Answer<'listWebhooks'>['items'][number]
const ZONE = Intl.DateTimeFormat().resolvedOptions().timeZone
export const KINDS = {
  due: 'care whose day has come',
  work_order: 'work orders and their states',
  stoppage: 'stoppages, begun and ended',
} as const

interface Shown {
  name: string
  secret: string
}

export function Webhooks(): ReactNode {
  const me = useMe()
  const webhooks = useQuery({ queryKey: ['webhooks'], queryFn: () => call('listWebhooks', {}, BY_ITSELF), refetchInterval: 15_000 })
  const [shown, setShown] = useState<Shown | null>(null)
  const administers = me.person.role === 'administrator'
  return (
    <>
      <Heading title="Word to other programs">Word to other programs</Heading>
      <p>
        Another program of yours is told as it happens, at an address that it listens at. Each telling is signed, so that it knows who
        speaks, and is sent again until it has arrived. Nothing about people is in it.
      </p>
      {shown ? <Secret shown={shown} onKept={() => setShown(null)} /> : null}
      {webhooks.isPending ? <Bones lines={4} /> : null}
      {webhooks.error ? <Fault error={webhooks.error} again={() => void webhooks.refetch()} /> : null}
      {webhooks.data?.items.length === 0 ? <p>No program is told anything yet.</p> : null}
      {webhooks.data?.items.map((webhook) => (
        <One key={webhook.id} webhook={webhook} administers={administers} onSecret={setShown} />
      ))}
      {administers ? <Make onSecret={setShown} /> : <p className="soft">An administrator adds programs and renews secrets.</p>}
    </>
  )
}

function Secret({ shown, onKept }: { shown: Shown; onKept: () => void }): ReactNode {
  return (
    <div className="note" role="status">
      <p>The secret for {shown.name}. Put it into that program now: it is not shown again.</p>
      <p>
        <code style={{ overflowWrap: 'anywhere' }}>{shown.secret}</code>
      </p>
      <p>
        The program checks the headers <code>webhook-id</code>, <code>webhook-timestamp</code> and <code>webhook-signature</code> with it,
        as Standard Webhooks 1.0 says, and refuses what is older than five minutes or came before under the same id.
      </p>
      <button onClick={onKept}>I have it</button>
    </div>
  )
}

function stateOf({ offAt, offReason, failingSince, waiting }: Webhook): string {
  if (offAt !== null) return `Off since ${sayInstant(offAt, ZONE)}. ${offReason ?? ''}`
  const wait = waiting > 0 ? ` ${sayCount(waiting, 'telling waits', 'tellings wait')}.` : ''
  if (failingSince !== null) return `Nothing has arrived since ${sayInstant(failingSince, ZONE)}; it is tried again, for three days.${wait}`
  return `On.${wait}`
}

function One({ webhook, administers, onSecret }: { webhook: Webhook; administers: boolean; onSecret: (shown: Shown) => void }): ReactNode {
  const me = useMe()
  const { error, change } = useChange()
  const [open, setOpen] = useState(false)
  const params = { webhookId: webhook.id }
  const { name, url, kinds, warehouseIds, offAt } = webhook
  const nameOf = (id: string): string => me.warehouses.find((one) => one.id === id)?.name ?? 'another warehouse'
  return (
    <section aria-label={name}>
      <h2>{name}</h2>
      <p>
        <code style={{ overflowWrap: 'anywhere' }}>{url}</code> hears of {kinds.map((kind) => KINDS[kind]).join('; ')}
        {warehouseIds ? `, in ${warehouseIds.map(nameOf).join(', ')}` : ''}. <strong>{stateOf(webhook)}</strong>
      </p>
      {error ? <Fault error={error} /> : null}
      <div className="row">
        {offAt === null ? (
          <button onClick={() => void change(() => call('tryWebhook', { params }).then(() => setOpen(true)))}>Try it</button>
        ) : null}
        <button aria-expanded={open} onClick={() => setOpen(!open)}>
          {open ? 'Hide what was told' : 'What was told'}
        </button>
        {administers ? (
          <>
            <button onClick={() => void change(() => call('patchWebhook', { params, body: { on: offAt !== null } }))}>
              {offAt === null ? 'Turn off' : 'Turn on again'}
            </button>
            <AskOnce
              open="New secret…"
              name={name}
              confirm="Make a new one"
              leave="Keep the old one"
              onDo={() => void change(() => call('renewWebhookSecret', { params }).then(({ secret }) => onSecret({ name, secret })))}
            >
              What is told is signed with the new one at once; the old one is worth nothing any more.
            </AskOnce>
            <AskOnce
              open="Take away…"
              name={name}
              confirm="Take it away"
              leave="Leave it"
              onDo={() => void change(() => call('removeWebhook', { params }))}
            >
              {name} hears nothing more, and what it was told is forgotten here.
            </AskOnce>
          </>
        ) : null}
      </div>
      {open ? <Tellings webhookId={webhook.id} off={offAt !== null} /> : null}
    </section>
  )
}

function Make({ onSecret }: { onSecret: (shown: Shown) => void }): ReactNode {
  const me = useMe()
  const { error, change } = useChange()
  function make(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const target = event.currentTarget
    const form = new FormData(target)
    const where = form.getAll('warehouse').map(String)
    const name = String(form.get('name'))
    const kinds = form.getAll('kind') as Webhook['kinds']
    void change(async () => {
      const body = { name, url: String(form.get('url')), kinds, warehouseIds: where.length === 0 ? null : where }
      const { secret } = await call('createWebhook', { body })
      onSecret({ name, secret })
      target.reset()
    })
  }
  return (
    <section aria-labelledby="make">
      <h2 id="make">Add a program</h2>
      {error ? <Fault error={error} /> : null}
      <form onSubmit={make}>
        <Field label="Name" hint="Which program, and whose.">
          {(id) => <input id={id} name="name" required maxLength={100} />}
        </Field>
        <Field
          label="Address"
          hint="Begins with https. One inside your own network must be allowed by whoever runs this installation (WEBHOOK_ALLOWED_HOSTS)."
        >
          {(id) => <input id={id} name="url" type="url" required maxLength={1000} placeholder="https://" />}
        </Field>
        <fieldset className="days">
          <legend>Hears of</legend>
          {Object.entries(KINDS).map(([kind, words]) => (
            <label key={kind}>
              <input type="checkbox" name="kind" value={kind} defaultChecked /> {words}
            </label>
          ))}
        </fieldset>
        <fieldset className="days">
          <legend>Only in (none ticked: everywhere)</legend>
          {me.warehouses.map(({ id, name }) => (
            <label key={id}>
              <input type="checkbox" name="warehouse" value={id} /> {name}
            </label>
          ))}
        </fieldset>
        <button className="main">Add it</button>
      </form>
    </section>
  )
}
