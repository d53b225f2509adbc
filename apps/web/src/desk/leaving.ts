/** Addresses of the desk are left at once, or, where something typed would be lost, after a question. */
import type { HistoryRouterProps } from 'react-router'

type Pages = HistoryRouterProps['history']
type Place = Pick<Pages['location'], 'pathname' | 'search'>
/** Goes at once where nothing would be lost; else asks, and goes when it is answered so. */
export type Leave = (go: () => void) => void

const samePage = (one: Place, other: Place): boolean => one.pathname === other.pathname
const sameSearch = (one: Place, other: Place): boolean => samePage(one, other) && one.search === other.search

export function askingFirst(pages: Pages, isLost: () => boolean, leave: Leave): Pages {
  let shown: Place = pages.location
  /** The browser has left already when it tells: we go back where we were, and that is told, too. */
  let returning = false
  return {
    get action() {
      return pages.action
    },
    get location() {
      return pages.location
    },
    createHref: pages.createHref,
    createURL: pages.createURL,
    encodeLocation: pages.encodeLocation,
    go: pages.go,
    push(to, state) {
      const go = (): void => pages.push(to, state)
      if (sameSearch(pages.createURL(to), shown)) go()
      else leave(go)
    },
    replace(to, state) {
      const go = (): void => pages.replace(to, state)
      // Filters and orders of a list replace their own page.
      if (samePage(pages.createURL(to), shown)) go()
      else leave(go)
    },
    listen: (tell) =>
      pages.listen((update) => {
        const { action, delta, location } = update
        if (returning) {
          returning = false
          return
        }
        if (action !== 'POP' || !delta || sameSearch(location, shown) || !isLost()) {
          shown = location
          tell(update)
          return
        }
        returning = true
        pages.go(-delta)
        leave(() => pages.go(delta))
      }),
  }
}
