/** A shared tablet: a turn for each sheet, ended by the next sheet, by a button, or by minutes without a touch. */
import { type ReactNode, useCallback, useEffect, useRef, useState } from 'react'
import { Kept } from './kept-bar.js'
import type { Keeping } from './kept.js'
import { PageAt } from './pages.js'
import { goByTurn, type Turn } from './server.js'
import { askWho, type HandMe } from './who.js'
import { WhoWorks } from './who-works.js'

/** Long enough to walk round a machine, short enough that the next one does not go on under a former name. */
const UNTOUCHED_MS = 5 * 60_000

interface OnTurn {
  turn: Turn
  /** The one sheet that this turn is for; null: none was opened yet. */
  sheet: string | null
  me: HandMe | null
}

const sheetOf = (address: string): string | null => (/^\/(order|round)\//.test(address) ? address : null)
const sayNext = (sheet: string | null): string | null => (sheet === null ? null : sheet.startsWith('/round') ? 'a round' : 'an order')

/** Is one more code asked for at this address? */
export const asksAnew = (boundTo: string | null, address: string): boolean => {
  const sheet = sheetOf(address)
  return sheet !== null && boundTo !== null && sheet !== boundTo
}

export function OnTablet({
  keeping,
  secret,
  address,
  onNoTablet,
}: {
  keeping: Keeping
  secret: string
  address: string
  onNoTablet: () => void
}): ReactNode {
  const [on, setOn] = useState<OnTurn | null>(null)
  const [lastId, setLastId] = useState<string | null>(null)
  const { store, signedInAs } = keeping
  const end = useCallback(() => {
    goByTurn(null)
    signedInAs(null)
    setOn(null)
  }, [signedInAs])
  useUntouched(on !== null, end)
  const begin = (turn: Turn): void => {
    goByTurn(turn)
    signedInAs(turn.personId)
    setLastId(turn.personId)
    setOn({ turn, sheet: sheetOf(address), me: null })
    const seen = (me: HandMe): void => setOn((now) => (now?.turn === turn ? { ...now, me } : now))
    void askWho(store, seen).then((who) => {
      if (who.me) seen(who.me)
      // The session behind it was ended meanwhile; without a network nobody can say, and the kept name stands.
      else if (who.state === 'out') end()
    })
  }
  // A turn that has not opened a sheet yet is for the first one.
  if (on && on.sheet === null && sheetOf(address) !== null) setOn({ ...on, sheet: sheetOf(address) })
  if (!on || asksAnew(on.sheet, address))
    return (
      <WhoWorks
        key={`${on?.sheet ?? ''} ${address}`}
        keeping={keeping}
        secret={secret}
        lastId={on ? lastId : null}
        before={sayNext(sheetOf(address))}
        onTurn={begin}
        onNoTablet={onNoTablet}
      />
    )
  return (
    <main className="hand">
      <Kept keeping={keeping} worker={on.turn.name} onLeave={end} />
      {on.me ? <PageAt address={address} me={on.me} /> : <div className="bone" />}
    </main>
  )
}

function useUntouched(active: boolean, onUntouched: () => void): void {
  const touchedAt = useRef(0)
  useEffect(() => {
    if (!active) return
    touchedAt.current = Date.now()
    const touched = (): void => void (touchedAt.current = Date.now())
    const every = setInterval(() => Date.now() - touchedAt.current > UNTOUCHED_MS && onUntouched(), 10_000)
    const kinds = ['pointerdown', 'keydown', 'input'] as const
    for (const kind of kinds) addEventListener(kind, touched, true)
    return () => {
      clearInterval(every)
      for (const kind of kinds) removeEventListener(kind, touched, true)
    }
  }, [active, onUntouched])
}
