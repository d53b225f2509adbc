// Opens the on-site pages without a network. Answers of the api are never kept here: the pages keep them themselves, with their age.
const CACHE = 'tapewarden-hand-3'
const PAGE = '/hand.html'
const BESIDE = ['/hand.webmanifest', '/icon.svg', '/early.js']
/** Which files belong to the page that was kept before: one that is still open loads the rest of itself from them. */
const BEFORE = '/files-of-the-page-before'

/** Everything the page names: its script, what that script imports (the build lists it as preloads) and its style. */
const namedBy = (html) => [...new Set([...html.matchAll(/(?:src|href)="(\/assets\/[^"]+)"/g)].map((found) => found[1]))]

/** The page last, so that a page in the cache always finds its files there. */
async function keepAll(cache, answer) {
  const files = namedBy(await answer.clone().text())
  const missing = []
  for (const file of files) if (!(await cache.match(file))) missing.push(file)
  await cache.addAll(missing)
  await cache.put(PAGE, answer)
  return files
}

/** Two pages' files stay: of the newest, and of the one before, which may be open in the middle of a sheet. */
async function dropOld(cache, files) {
  const before = (await (await cache.match(BEFORE))?.json()) ?? { now: [], former: [] }
  const same = before.now.join() === files.join()
  const stay = same ? before : { now: files, former: before.now }
  await cache.put(BEFORE, new Response(JSON.stringify(stay)))
  for (const request of await cache.keys()) {
    const { pathname } = new URL(request.url)
    if (pathname.startsWith('/assets/') && !stay.now.includes(pathname) && !stay.former.includes(pathname)) await cache.delete(request)
  }
}

async function install() {
  const cache = await caches.open(CACHE)
  const answer = await fetch(PAGE, { cache: 'no-cache' })
  if (!answer.ok) throw new Error(`${PAGE} answered ${answer.status}`)
  await dropOld(cache, await keepAll(cache, answer))
  await cache.addAll(BESIDE)
  await self.skipWaiting()
}

/** The stores of older workers go one update later than they could, for pages that are open now. */
async function activate() {
  const older = (await caches.keys()).filter((name) => name.startsWith('tapewarden-hand-') && name !== CACHE).sort()
  await Promise.all(older.slice(0, -1).map((name) => caches.delete(name)))
  await self.clients.claim()
}

/** The newest page where the network is quick, else the kept one: whoever stands at a machine waits for no signal. */
const PATIENCE_MS = 400

async function openPage(event) {
  const cache = await caches.open(CACHE)
  const kept = await cache.match(PAGE)
  const asked = fetch(PAGE, { cache: 'no-cache' }).then((answer) => {
    if (answer.ok)
      event.waitUntil(
        keepAll(cache, answer.clone())
          .then((files) => dropOld(cache, files))
          .catch(() => undefined),
      )
    return answer.ok || !kept ? answer : kept
  })
  if (!kept) return asked
  const patience = new Promise((resolve) => setTimeout(() => resolve(kept), PATIENCE_MS))
  return Promise.race([asked.catch(() => kept), patience]).then((answer) => answer.clone())
}

async function openFile(request) {
  const cache = await caches.open(CACHE)
  return (await cache.match(request)) ?? (await caches.match(request)) ?? fetch(request)
}

self.addEventListener('install', (event) => event.waitUntil(install()))
self.addEventListener('activate', (event) => event.waitUntil(activate()))
self.addEventListener('fetch', (event) => {
  const url = new URL(event.request.url)
  if (event.request.method !== 'GET' || url.origin !== location.origin) return
  if (url.pathname === PAGE) event.respondWith(openPage(event))
  else if (url.pathname.startsWith('/assets/') || BESIDE.includes(url.pathname)) event.respondWith(openFile(event.request))
})
