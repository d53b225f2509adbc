/** One page at a time by the address; all but the first are brought along once that one is shown. */
import { lazy, type ReactNode, Suspense, useEffect } from 'react'
import { Boundary } from './boundary.js'
import { SCANNED } from './by-label.js'
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

const BRING_AFTER_MS = 1500

export function PageAt({ address, me }: { address: string; me: HandMe }): ReactNode {
  useEffect(() => {
    const later = setTimeout(() => Object.values(load).forEach((one) => void one().catch(() => undefined)), BRING_AFTER_MS)
    return () => clearTimeout(later)
  }, [])
  return (
    <Boundary key={address}>
      <Suspense fallback={<div className="bone" />}>{pageOf(address, me)}</Suspense>
    </Boundary>
  )
}

function pageOf(address: string, me: HandMe): ReactNode {
  const [, place, id = '', how = ''] = address.split('/')
  switch (place) {
    case 'order':
      return <Sheet key={id} workOrderId={id} me={me} />
    case 'round':
      return <RoundPage key={id} warehouseId={id} />
    case 'visit':
      return <VisitPageOf key={id} visitId={id} />
    case 'stand':
      return <StandPage key={id} warehouseId={id} me={me} />
    case 'machine':
      return <MachinePage key={address} code={decodeURIComponent(id)} me={me} scanned={how === SCANNED} />
    case 'code':
      return <ShortCodePage me={me} />
    case 'shared-tablet':
      return <TabletSetUp me={me} />
    default:
      return me.visitId ? <VisitPageOf visitId={me.visitId} /> : <Today me={me} />
  }
}
