import { beforeEach, describe, expect, it } from '@jest/globals'
import { askingFirst } from './leaving.js'

type Pages = Parameters<typeof askingFirst>[0]

/** A browser's pages, which tell of steps back only after they were taken. */
function browser(...addresses: string[]) {
  const base = 'http://desk.example'
  let at = addresses.length - 1
  let tell: (update: any) => void = () => undefined
  const location = () => new URL(addresses[at] ?? '/', base)
  const put = (to: unknown, action: string): void => {
    addresses.splice(at, addresses.length, String(to))
    tell({ action, location: location(), delta: action === 'PUSH' ? 1 : 0 })
  }
  const pages = {
    action: 'POP',
    get location() {
      return location()
    },
    createURL: (to: string) => new URL(to, base),
    push(to: unknown) {
      at += 1
      put(to, 'PUSH')
    },
    replace: (to: unknown) => put(to, 'REPLACE'),
    go(delta: number) {
      at += delta
      tell({ action: 'POP', location: location(), delta })
    },
    listen(told: (update: any) => void) {
      tell = told
      return () => undefined
    },
  }
  return { pages: pages as unknown as Pages, at: () => `${location().pathname}${location().search}` }
}

let lost = true
let asked: (() => void) | null = null
function open(...addresses: string[]) {
  const { pages, at } = browser(...addresses)
  const asking = askingFirst(
    pages,
    () => lost,
    (go) => {
      if (lost) asked = go
      else go()
    },
  )
  const shown: string[] = []
  asking.listen(({ location }) => shown.push(location.pathname + location.search))
  const answer = (): void => {
    lost = false
    asked?.()
    asked = null
  }
  return { asking, at, shown, answer, back: () => pages.go(-1) }
}
beforeEach(() => {
  lost = true
  asked = null
})

describe('with something typed', () => {
  it.each(['push', 'replace'] as const)('%s to another page waits for the answer', (way) => {
    const { asking, at, shown, answer } = open('/machines')
    asking[way]('/work')
    expect([at(), shown]).toEqual(['/machines', []])
    answer()
    expect([at(), shown]).toEqual(['/work', ['/work']])
  })

  it('a step back is taken back, and taken again after the answer', () => {
    const { at, shown, answer, back } = open('/work', '/machines')
    back()
    expect([at(), shown, asked !== null]).toEqual(['/machines', [], true])
    answer()
    expect([at(), shown]).toEqual(['/work', ['/work']])
  })

  it('staying leaves the page and the way back as they were', () => {
    const { at, shown, back } = open('/', '/work', '/machines')
    back()
    back()
    expect([at(), shown]).toEqual(['/machines', []])
  })

  it('a filter of the page and a place in it ask nothing', () => {
    const { asking, shown } = open('/machines')
    asking.replace('/machines?status=retired')
    asking.push('/machines?status=retired#page')
    expect([asked, shown]).toEqual([null, ['/machines?status=retired', '/machines?status=retired']])
  })

  it('another form under the same address is another page', () => {
    const { asking } = open('/set-up/register')
    asking.push('/set-up/register?what=machine')
    expect(asked).not.toBeNull()
  })
})

it('asks nothing where nothing was typed', () => {
  lost = false
  const { asking, back, shown } = open('/work')
  asking.push('/machines')
  back()
  expect([asked, shown]).toEqual([null, ['/machines', '/work']])
})
