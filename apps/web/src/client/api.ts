/** The one client of the api: typed by the table of routes, answers checked by the same schemas. */
import { BY_ITSELF_HEADER, REQUEST_HEADER, type RouteRequest, type RouteResponse, routes } from '@tapewarden/shared'
import { learnClock } from './clock.js'
import { takeEarly } from './early.js'
import { ApiProblem, Unreachable } from './problems.js'

type Routes = typeof routes
export type Operation = keyof Routes
export type Answer<Name extends Operation> = RouteResponse<Routes[Name]>

type Sent = { params?: Record<string, string>; query?: Record<string, unknown>; body?: unknown }

function addressOf(path: string, { params = {}, query = {} }: Sent): string {
  const filled = path.replace(/:([A-Za-z]+)/g, (_, name: string) => encodeURIComponent(params[name] ?? ''))
  const search = new URLSearchParams()
  for (const [key, value] of Object.entries(query))
    if (value !== undefined && value !== '') search.set(key, Array.isArray(value) ? value.join(',') : String(value))
  const text = search.toString()
  return text === '' ? filled : `${filled}?${text}`
}

async function problemOf(answer: Response): Promise<ApiProblem> {
  const body = (await answer.json().catch(() => ({}))) as {
    code?: string
    detail?: string
    errors?: { pointer: string; message: string }[]
  }
  return new ApiProblem(answer.status, body.code ?? 'UNKNOWN', body.detail ?? `The server answered ${answer.status}.`, body.errors ?? [])
}

/** The one request whose body is a file: its bytes go as they are. */
export async function sendFile(query: RouteRequest<Routes['createImport']>['query'], file: Blob): Promise<Answer<'createImport'>> {
  const answer = await fetch(addressOf(routes.createImport.path, { query }), {
    method: 'POST',
    credentials: 'same-origin',
    headers: { accept: 'application/json', [REQUEST_HEADER]: '1', 'content-type': 'application/octet-stream' },
    body: file,
  }).catch(() => {
    throw new Unreachable()
  })
  if (!answer.ok) throw await problemOf(answer)
  return routes.createImport.response.parse(await answer.json())
}

/** For what a page asks again and again while nobody touches it: that does not keep anybody signed in. */
export const BY_ITSELF = { [BY_ITSELF_HEADER]: '1' }

export async function call<Name extends Operation>(
  name: Name,
  request?: RouteRequest<Routes[Name]>,
  headers: Record<string, string> = {},
): Promise<Answer<Name>> {
  const route = routes[name] as { method: string; path: string; response: { parse(value: unknown): unknown } }
  const sent = (request ?? {}) as Sent
  const address = addressOf(route.path, sent)
  const early = route.method === 'GET' && Object.keys(headers).length === 0 ? await takeEarly(address) : null
  if (early) return route.response.parse(await early.json()) as Answer<Name>
  const askedMs = Date.now()
  const answer = await fetch(address, {
    method: route.method,
    credentials: 'same-origin',
    headers: {
      accept: 'application/json',
      [REQUEST_HEADER]: '1',
      ...(sent.body === undefined ? {} : { 'content-type': 'application/json' }),
      ...headers,
    },
    ...(sent.body === undefined ? {} : { body: JSON.stringify(sent.body) }),
  }).catch(() => {
    throw new Unreachable()
  })
  learnClock(answer.headers.get('date'), askedMs)
  if (!answer.ok) throw await problemOf(answer)
  return route.response.parse(await answer.json()) as Answer<Name>
}
