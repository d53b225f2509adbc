/** The service worker's own file, run with a cache storage and a web server of the test's: what it keeps through updates. */
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import vm from 'node:vm'

class FakeCache {
  readonly files = new Map<string, Response>()
  constructor(private readonly web: WebServer) {}
  private path = (request: string | Request): string => new URL(typeof request === 'string' ? request : request.url, ORIGIN).pathname
  match = async (request: string | Request): Promise<Response | undefined> => this.files.get(this.path(request))?.clone()
  put = async (request: string | Request, answer: Response): Promise<void> => void this.files.set(this.path(request), answer.clone())
  delete = async (request: string | Request): Promise<boolean> => this.files.delete(this.path(request))
  keys = async (): Promise<Request[]> => [...this.files.keys()].map((path) => new Request(`${ORIGIN}${path}`))
  async addAll(paths: readonly string[]): Promise<void> {
    const answers = await Promise.all(paths.map((path) => this.web.fetch(path)))
    if (answers.some(({ ok }) => !ok)) throw new TypeError('addAll')
    for (const [index, path] of paths.entries()) this.files.set(path, answers[index] as Response)
  }
}

const ORIGIN = 'https://tape.example'
const BESIDE = ['/hand.webmanifest', '/icon.svg', '/early.js']

/** Holds the files of its newest version alone, as after a new installation. */
export class WebServer {
  version = 1
  online = true
  static filesOf = (version: number): string[] => [
    `/assets/hand-${version}.js`,
    `/assets/sheet-${version}.js`,
    `/assets/hand-${version}.css`,
  ]

  fetch = async (request: string | Request): Promise<Response> => {
    if (!this.online) throw new TypeError('network')
    const path = new URL(typeof request === 'string' ? request : request.url, ORIGIN).pathname
    const files = WebServer.filesOf(this.version)
    if (path === '/hand.html') return new Response(files.map((file) => `<script src="${file}"></script>`).join(''))
    return files.includes(path) || BESIDE.includes(path) ? new Response(path) : new Response('gone', { status: 404 })
  }
}

type Handler = (event: object) => void

/** One phone's browser: its cache storage stays, workers come and go. */
export class Browser {
  private readonly stores = new Map<string, FakeCache>()
  private handlers: Record<string, Handler> = {}
  constructor(private readonly web: WebServer) {}

  /** A new worker is installed and at once in charge, as ours asks for. @param cacheName another one where the worker itself was changed */
  async update(cacheName?: string): Promise<void> {
    const written = readFileSync(join(process.cwd(), 'apps/web/public/hand-worker.js'), 'utf8')
    const handlers: Record<string, Handler> = {}
    const self = {
      addEventListener: (kind: string, handler: Handler) => void (handlers[kind] = handler),
      skipWaiting: async () => undefined,
      clients: { claim: async () => undefined },
    }
    const globals = {
      self,
      caches: this.caches,
      fetch: this.web.fetch,
      location: { origin: ORIGIN },
      URL,
      Response,
      Request,
      setTimeout,
      Set,
      Promise,
    }
    vm.runInNewContext(cacheName ? written.replace(/const CACHE = .*/, `const CACHE = '${cacheName}'`) : written, globals)
    const before = this.handlers
    this.handlers = handlers
    try {
      await this.run('install')
      await this.run('activate')
    } catch {
      // A worker that cannot be installed leaves the former one in charge.
      this.handlers = before
    }
  }

  private async run(kind: string): Promise<void> {
    let done: Promise<unknown> = Promise.resolve()
    this.handlers[kind]?.({ waitUntil: (promise: Promise<unknown>) => (done = promise) })
    await done
  }

  /** As a page asks: through the worker in charge. */
  async get(path: string): Promise<Response> {
    const later: Promise<unknown>[] = []
    let answer: Promise<Response> | undefined
    const event = {
      request: { url: `${ORIGIN}${path}`, method: 'GET' },
      respondWith: (given: Promise<Response>) => (answer = given),
      waitUntil: (promise: Promise<unknown>) => void later.push(promise),
    }
    this.handlers.fetch?.(event)
    const got = await (answer ?? this.web.fetch(path)).catch(() => new Response('no network', { status: 504 }))
    await Promise.all(later)
    return got
  }

  private readonly caches = {
    open: async (name: string): Promise<FakeCache> => {
      const found = this.stores.get(name) ?? new FakeCache(this.web)
      this.stores.set(name, found)
      return found
    },
    keys: async (): Promise<string[]> => [...this.stores.keys()],
    delete: async (name: string): Promise<boolean> => this.stores.delete(name),
    match: async (request: string | Request): Promise<Response | undefined> => {
      for (const store of this.stores.values()) {
        const found = await store.match(request)
        if (found) return found
      }
      return undefined
    },
  }
}
