/** The frame of the on-site pages: who works, what is only on this phone, and one page at a time by the address. */
import { type ReactNode, useEffect, useState } from 'react'
import { SCANNED } from './by-label.js'
import { SignIn } from './sign-in.js'
import { Kept } from './kept-bar.js'
import { KeepingContext, useKeepingOf, type Keeping } from './kept.js'
import { type HandStore, keepPage, keptPage, openStore } from './outbox.js'
import { MachinePage } from './machine.js'
import { RoundPage } from './round.js'
import { LinkedRound } from './linked-round.js'
import { ask, goByVisitLink, SignedOut } from './server.js'
import { Sheet } from './sheet.js'
import { StandPage } from './stand.js'
import { Today } from './today.js'
import { VisitPageOf } from './visits.js'

export interface HandMe {
  person: { id: string; name: string; role: string; units: 'si' | 'us' }
  warehouses: { id: string; name: string; zone: string; today: string }[]
  /** Set for a visiting technician's link. */
  visitId: string | null
}

export function useAddress(): string {
  const [hash, setHash] = useState(location.hash.slice(1) || '/')
  useEffect(() => {
    const change = (): void => {
      setHash(location.hash.slice(1) || '/')
      scrollTo(0, 0)
    }
    addEventListener('hashchange', change)
    return () => removeEventListener('hashchange', change)
  }, [])
  return hash
}

export function Hand(): ReactNode {
  const [store, setStore] = useState<HandStore | null>(null)
  const [full, setFull] = useState(false)
  const [blocked, setBlocked] = useState(false)
  useEffect(() => {
    openStore(undefined, () => setBlocked(true)).then(
      (opened) => {
        setBlocked(false)
        setStore(opened)
      },
      () => setFull(true),
    )
  }, [])
  const keeping = useKeepingOf(store)
  const linked = location.hash.startsWith('#round=')
  if (linked && full) return <LinkedRound />
  if (full)
    return (
      <main className="hand">
        <p className="note alarmed" role="alert">
          This browser lets nothing be kept on the phone (private window, or storage full). Work on site needs that: open this page in an
          ordinary window.
        </p>
      </main>
    )
  if (blocked)
    return (
      <main className="hand">
        <p className="note alarmed" role="alert">
          These pages are open in another window, in an older version. Close that one; what was typed there is kept.
        </p>
      </main>
    )
  if (!keeping) return <main className="hand" aria-busy="true" />
  return <KeepingContext value={keeping}>{linked ? <LinkedRound keeping={keeping} /> : <SignedIn keeping={keeping} />}</KeepingContext>
}

const VISIT_LINK = 'visit link'

/** The link's secret leaves the address bar at once and stays on this phone, so that the pages open again without a network. */
async function visitSecretOf(store: HandStore): Promise<string | null> {
  const given = /^#visit=([\w-]+)$/.exec(location.hash)?.[1]
  if (given === undefined) return (await keptPage<string>(store, VISIT_LINK))?.data ?? null
  await keepPage(store, VISIT_LINK, given, new Date().toISOString())
  history.replaceState(null, '', `${location.pathname}#/`)
  dispatchEvent(new Event('hashchange'))
  return given
}

type SignIned = { state: 'asking' | 'out' | 'away'; me: null } | { state: 'in'; me: HandMe }

/** Who works here: by the server, or by what was kept when the network is away. */
async function askWho(store: HandStore): Promise<SignIned> {
  goByVisitLink(await visitSecretOf(store))
  try {
    const me = await ask<HandMe>('GET', '/api/v1/me')
    await keepPage(store, 'me', me, new Date().toISOString())
    return { state: 'in', me }
  } catch (error) {
    if (error instanceof SignedOut) {
      await store.delete('pages', VISIT_LINK)
      goByVisitLink(null)
      return { state: 'out', me: null }
    }
    const kept = await keptPage<HandMe>(store, 'me')
    return kept ? { state: 'in', me: kept.data } : { state: 'away', me: null }
  }
}

function SignedIn({ keeping }: { keeping: Keeping }): ReactNode {
  const [{ state, me }, setWho] = useState<SignIned>({ state: 'asking', me: null })
  const [asked, setAsked] = useState(0)
  const address = useAddress()
  const { store, signedInAs } = keeping
  useEffect(() => {
    void askWho(store).then((who) => {
      setWho(who)
      if (who.me) signedInAs(who.me.person.id)
    })
  }, [store, signedInAs, asked])
  const look = (): void => setAsked(asked + 1)
  if (state === 'asking') return <main className="hand" aria-busy="true" />
  if (state === 'out') return <SignIn waiting={keeping.waiting} onDone={look} />
  if (state === 'away' || !me)
    return (
      <main className="hand">
        <p className="note">No network, and nothing was opened on this phone before. Open this page once with the network.</p>
        <button onClick={look}>Try again</button>
      </main>
    )
  return (
    <main className="hand">
      <Kept keeping={keeping} />
      <PageAt address={address} me={me} />
    </main>
  )
}

function PageAt({ address, me }: { address: string; me: HandMe }): ReactNode {
  const [, place, id = '', how = ''] = address.split('/')
  if (place === 'order') return <Sheet key={id} workOrderId={id} me={me} />
  if (place === 'round') return <RoundPage key={id} warehouseId={id} />
  if (place === 'visit') return <VisitPageOf key={id} visitId={id} />
  if (place === 'stand') return <StandPage key={id} warehouseId={id} me={me} />
  if (place === 'machine') return <MachinePage key={address} code={decodeURIComponent(id)} me={me} scanned={how === SCANNED} />
  return me.visitId ? <VisitPageOf visitId={me.visitId} /> : <Today me={me} />
}
