/** One page at a time by the address; all but the first are brought along once that one is shown. */
import { lazy, type ReactNode, Suspense, useEffect } from 'react'
import { Boundary, KEPT_ON_PHONE } from '../ui/boundary.js'
import { SCANNED } from './by-label.js'
import { HAND_PLACES, type HandPlace } from './places.js'
import { Today } from './today.js'
import { VisitPageOf } from './visits.js'
import type { HandMe } from './who.js'

const load = {
  sheet: () => import('./sheet.js'),
  round: () => import('./round.js'),
  stand: () => import('./stand.js'),
  machine: () => import('./machine.js'),
  code: () => import('./short-code.js'),
  setUp: () => import('./tablet-set-up.js'),
}
const Sheet = lazy(async () => ({ default: (await load.sheet()).Sheet }))
const RoundPage = lazy(async () => ({ default: (await load.round()).RoundPage }))
const StandPage = lazy(async () => ({ default: (await load.stand()).StandPage }))
const MachinePage = lazy(async () => ({ default: (await load.machine()).MachinePage }))
const ShortCodePage = lazy(async () => ({ default: (await load.code()).ShortCodePage }))
const TabletSetUp = lazy(async () => ({ default: (await load.setUp()).TabletSetUp }))

const PAGES: Readonly<Record<HandPlace, (id: string, me: HandMe, how: string) => ReactNode>> = {
  '': (_, me) => (me.visitId ? <VisitPageOf visitId={me.visitId} /> : <Today me={me} />),
  order: (id, me) => <Sheet workOrderId={id} me={me} />,
  round: (id) => <RoundPage warehouseId={id} />,
  visit: (id) => <VisitPageOf visitId={id} />,
  stand: (id, me) => <StandPage warehouseId={id} me={me} />,
  machine: (id, me, how) => <MachinePage code={decodeURIComponent(id)} me={me} scanned={how === SCANNED} />,
  code: (_, me) => <ShortCodePage me={me} />,
  'shared-tablet': (_, me) => <TabletSetUp me={me} />,
}

const BRING_AFTER_MS = 1500

export function PageAt({ address, me }: { address: string; me: HandMe }): ReactNode {
  useEffect(() => {
    const later = setTimeout(() => Object.values(load).forEach((one) => void one().catch(() => undefined)), BRING_AFTER_MS)
    return () => clearTimeout(later)
  }, [])
  return (
    <Boundary key={address} at={address} kept={KEPT_ON_PHONE}>
      <Suspense fallback={<div className="bone" />}>{pageOf(address, me)}</Suspense>
    </Boundary>
  )
}

function pageOf(address: string, me: HandMe): ReactNode {
  const [, place = '', id = '', how = ''] = address.split('/')
  return PAGES[isPlace(place) ? place : ''](id, me, how)
}
const isPlace = (word: string): word is HandPlace => (HAND_PLACES as readonly string[]).includes(word)
