/** The frame of the on-site pages: who works, what is only on this phone, and one page at a time by the address. */
import { lazy, type ReactNode, Suspense, useEffect, useState } from 'react'
import { Boundary, KEPT_ON_PHONE } from '../ui/boundary.js'
import { SignIn } from './sign-in.js'
import { Kept } from './kept-bar.js'
import { KeepingContext, useKeepingOf, type Keeping } from './kept.js'
import { type HandStore, openStore } from './outbox.js'
import { Opening } from './opening.js'
import { PageAt } from './pages.js'
import { tabletSecret } from './tablet.js'
import { askWho, type Who } from './who.js'

export type { HandMe } from './who.js'

const LinkedRound = lazy(async () => ({ default: (await import('./linked-round.js')).LinkedRound }))
const OnTablet = lazy(async () => ({ default: (await import('./on-tablet.js')).OnTablet }))

function useAddress(): string {
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

const Waiting = <Opening />

/** Opened as soon as this script runs, while the page is built up. */
let isBlocked = false
let onBlocked = (): void => undefined
const opening = openStore(undefined, () => {
  isBlocked = true
  onBlocked()
})
opening.catch(() => undefined)

export function Hand(): ReactNode {
  return (
    <Boundary at="" kept={KEPT_ON_PHONE}>
      <Suspense fallback={Waiting}>
        <Opened />
      </Suspense>
    </Boundary>
  )
}

function Opened(): ReactNode {
  const [store, setStore] = useState<HandStore | null>(null)
  const [full, setFull] = useState(false)
  const [blocked, setBlocked] = useState(isBlocked)
  useEffect(() => {
    onBlocked = () => setBlocked(true)
    opening.then(
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
  if (!keeping) return Waiting
  return <KeepingContext value={keeping}>{linked ? <LinkedRound keeping={keeping} /> : <OneOrMany keeping={keeping} />}</KeepingContext>
}

/** One person's phone, or a tablet that several share. */
function OneOrMany({ keeping }: { keeping: Keeping }): ReactNode {
  const [secret, setSecret] = useState<string | null | undefined>(undefined)
  const address = useAddress()
  const { store } = keeping
  useEffect(() => void tabletSecret(store).then(setSecret), [store])
  if (secret === undefined) return Waiting
  if (secret === null) return <SignedIn keeping={keeping} address={address} />
  return <OnTablet keeping={keeping} secret={secret} address={address} onNoTablet={() => setSecret(null)} />
}

function SignedIn({ keeping, address }: { keeping: Keeping; address: string }): ReactNode {
  const [{ state, me }, setWho] = useState<Who>({ state: 'asking', me: null })
  const [asked, setAsked] = useState(0)
  const { store, signedInAs } = keeping
  useEffect(() => {
    const seen = (who: Who): void => {
      setWho(who)
      if (who.me) signedInAs(who.me.person.id)
    }
    void askWho(store, (kept) => seen({ state: 'in', me: kept })).then(seen)
  }, [store, signedInAs, asked])
  const look = (): void => setAsked(asked + 1)
  if (state === 'asking') return Waiting
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
