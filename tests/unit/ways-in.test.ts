/** Whatever the api can do, some page can ask for: what people could only do by programs is found here and named with its reason. */
import { describe, expect, it } from '@jest/globals'
import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { routes } from '@tapewarden/shared'

const WEB = join(process.cwd(), 'apps/web/src')
const SOURCES = (readdirSync(WEB, { recursive: true }) as string[])
  .filter((file) => /\.tsx?$/.test(file) && !file.endsWith('.test.ts'))
  .map((file) => readFileSync(join(WEB, file), 'utf8'))

/** Without a way in, on purpose. */
const NO_PAGE: Readonly<Record<string, string>> = {
  live: 'for whoever watches the process',
  ready: 'for whoever watches the process',
  postEvidenceInBulk: 'for other programs; people bring files',
  syncWorkEntries: 'for other programs; the phone sends one after the other, so that each has its answer',
  createMachine: 'the desk registers many at once, one as well',
  getOccurrence: 'pages read them in lists',
  getPart: 'pages read them in lists',
  listReminders: 'pages show the mails that reminders went into',
  patchMe: 'wishes about mail hold the same and more',
  putWarehousePeople: 'a person is told where they serve',
}

const escaped = (text: string): string => text.replaceAll(/[/.-]/g, String.raw`\$&`)
const END = '[\'"`?]'

/** Pages name a route, or write its path with the ids in their places. A path that ends with an id says nothing of what is done there. */
function isAsked(name: string, method: string, path: string): boolean {
  const named = new RegExp(`['"\`.]${name}\\b`)
  if (SOURCES.some((source) => named.test(source))) return true
  const pieces = path.split(/:[A-Za-z]+/)
  const last = pieces.at(-1) ?? ''
  if (last === '' && method !== 'GET') return false
  const written = new RegExp(pieces.map(escaped).join(String.raw`(\$\{[^}]*\})`) + END)
  // The packers' page puts the end of a path behind the label's part.
  const ended = pieces.length > 1 && last !== '' ? new RegExp(`['"\`]${escaped(last)}${END}`) : null
  return SOURCES.some((source) => written.test(source) || ended?.test(source) === true)
}

describe('ways in', () => {
  const asked = Object.entries(routes).map(([name, { method, path }]) => ({ name, asked: isAsked(name, method, path) }))

  it('each route is asked for by a page, or says here why not', () => {
    expect(asked.filter((route) => !route.asked && !(route.name in NO_PAGE)).map(({ name }) => name)).toEqual([])
  })
  it('no excuse outlives its need', () => {
    const excused = Object.keys(NO_PAGE)
    expect(excused.filter((name) => !(name in routes))).toEqual([])
    expect(excused.filter((name) => new RegExp(`call\\(\\s*'${name}'`).test(SOURCES.join('\n')))).toEqual([])
  })
  it('would find one that no page asks for', () => {
    expect(isAsked('nobodyAsksForThis', 'POST', '/api/v1/nobody/:id/asks')).toBe(false)
    // The page of a machine reads this path; that is no way to change what stands there.
    expect(isAsked('nobodyAsksForThis', 'GET', '/api/v1/work-orders/:workOrderId')).toBe(true)
    expect(isAsked('nobodyAsksForThis', 'PATCH', '/api/v1/work-orders/:workOrderId')).toBe(false)
    expect(isAsked('nobodyAsksForThis', 'POST', '/api/v1/stoppages/:stoppageId/closing')).toBe(true)
  })
})
