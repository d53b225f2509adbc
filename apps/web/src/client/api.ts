/** The one client of the api: typed by the table of routes, answers checked by the same schemas. */
import { BY_ITSELF_HEADER, REQUEST_HEADER, type Route, type RouteRequest, type RouteResponse, routes } from '@tapewarden/shared'
import { learnClock } from './clock.js'
import { takeEarly } from './early.js'
import { ApiProblem, NoAnswer, Unreachable } from './problems.js'
import { sendOnce } from './sent-once.js'

const KEY_HEADER = 'idempotency-key'

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
  // Not of ours: a proxy before it, that does not reach it.
  if (body.code === undefined && answer.status >= 502 && answer.status <= 504) throw new Unreachable()
  return new ApiProblem(answer.status, body.code ?? 'UNKNOWN', body.detail ?? `The server answered ${answer.status}.`, body.errors ?? [])
}

/** A page that hangs longer is asked for anew by whoever looks at it. */
const READ_WITHIN_MS = 60_000
/** Many machines at once take their time; what is cut off here is sent again as the same. */
const CHANGED_WITHIN_MS = 180_000

/** @throws ApiProblem for a refusal, Unreachable where no whole answer of ours came */
async function fetchJson(
  address: string,
  { headers, ...init }: Omit<RequestInit, 'headers'> & { headers: Record<string, string> },
): Promise<unknown> {
  const askedMs = Date.now()
  const away = (error: unknown): never => {
    throw error instanceof Error && error.name === 'TimeoutError' ? new NoAnswer() : new Unreachable()
  }
  const all = { accept: 'application/json', [REQUEST_HEADER]: '1', ...headers }
  const answer = await fetch(address, { ...init, credentials: 'same-origin', headers: all }).catch(away)
  learnClock(answer.headers.get('date'), askedMs)
  if (!answer.ok) throw await problemOf(answer)
  return answer.json().catch(away)
}

/** The one request whose body is a file: its bytes go as they are. */
export async function sendFile(query: RouteRequest<Routes['createImport']>['query'], file: File): Promise<Answer<'createImport'>> {
  const address = addressOf(routes.createImport.path, { query })
  // The server knows a file by its name alone: another one of that name is another request.
  const what = `POST ${address} ${file.size} ${file.lastModified}`
  const answer = await sendOnce({ what, body: '' }, (key) =>
    fetchJson(address, { method: 'POST', headers: { 'content-type': 'application/octet-stream', [KEY_HEADER]: key }, body: file }),
  )
  return routes.createImport.response.parse(answer)
}

/** For what a page asks again and again while nobody touches it: that does not keep anybody signed in. */
export const BY_ITSELF = { [BY_ITSELF_HEADER]: '1' }

/** Only shown or drawn by them: they may be asked as often as one likes, and their answers are not kept. */
const CHANGE_NOTHING: ReadonlySet<Operation> = new Set<Operation>(['previewSkip', 'previewClosure', 'previewServicePlan', 'printLabels'])
/** Moves by one: two quick presses are two steps. */
const EACH_PRESS: ReadonlySet<Operation> = new Set<Operation>(['walkStation'])

export async function call<Name extends Operation>(
  name: Name,
  request?: RouteRequest<Routes[Name]>,
  headers: Record<string, string> = {},
): Promise<Answer<Name>> {
  const route = routes[name] as Pick<Route, 'method' | 'path' | 'access' | 'response'>
  const sent = (request ?? {}) as Sent
  const address = addressOf(route.path, sent)
  const early = route.method === 'GET' && Object.keys(headers).length === 0 ? await takeEarly(address) : null
  if (early) return route.response.parse(await early.json()) as Answer<Name>
  const body = sent.body === undefined ? null : JSON.stringify(sent.body)
  const ask = (more: Record<string, string>): Promise<unknown> =>
    fetchJson(address, {
      method: route.method,
      signal: AbortSignal.timeout(route.method === 'GET' ? READ_WITHIN_MS : CHANGED_WITHIN_MS),
      headers: { ...(body === null ? {} : { 'content-type': 'application/json' }), ...headers, ...more },
      body,
    })
  const answer =
    route.method === 'GET' || route.access === 'public' || CHANGE_NOTHING.has(name)
      ? await ask({})
      : await sendOnce({ what: `${route.method} ${address}`, body: body ?? '', eachPress: EACH_PRESS.has(name) }, (key) =>
          ask({ [KEY_HEADER]: key }),
        )
  return route.response.parse(answer) as Answer<Name>
}
