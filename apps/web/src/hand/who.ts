/** Who works on this phone: by a visiting technician's link, by the session, or by what was kept when the network is away. */
import { forgetPages, type HandStore, keepPage, keptPage } from './outbox.js'
import { ask, goByVisitLink, SignedOut, turnNow } from './server.js'

export interface HandMe {
  person: { id: string; name: string; role: string; units: 'si' | 'us'; shortCodeSetAt: string | null }
  warehouses: { id: string; name: string; zone: string; today: string }[]
  /** Set for a visiting technician's link. */
  visitId: string | null
  /** Set for a turn on a shared tablet. */
  tabletName: string | null
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

export type Who = { state: 'asking' | 'out' | 'away'; me: null } | { state: 'in'; me: HandMe }

const keptMe = async (store: HandStore): Promise<HandMe | null> => {
  const turn = turnNow()
  return (await keptPage<HandMe>(store, turn ? `me of ${turn.personId}` : 'me'))?.data ?? null
}

async function keepMe(store: HandStore, me: HandMe): Promise<void> {
  const turn = turnNow()
  if (!turn && (await keptMe(store))?.person.id !== me.person.id) await forgetPages(store)
  // A phone that is full is still somebody's.
  await keepPage(store, turn ? `me of ${turn.personId}` : 'me', me, new Date().toISOString()).catch(() => undefined)
}

/** @param onKept called first with whoever worked here last, so that the pages open before the network has answered */
export async function askWho(store: HandStore, onKept: (me: HandMe) => void): Promise<Who> {
  if (turnNow() === null) goByVisitLink(await visitSecretOf(store))
  const kept = await keptMe(store)
  if (kept) onKept(kept)
  try {
    const me = await ask<HandMe>('GET', '/api/v1/me')
    await keepMe(store, me)
    return { state: 'in', me }
  } catch (error) {
    if (error instanceof SignedOut) {
      await store.delete('pages', VISIT_LINK)
      goByVisitLink(null)
      return { state: 'out', me: null }
    }
    return kept ? { state: 'in', me: kept } : { state: 'away', me: null }
  }
}
