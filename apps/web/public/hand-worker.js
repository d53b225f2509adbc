// Opens the on-site pages without a network. Answers of the api are never kept here: the pages keep them themselves, with their age.
const STORES = 'tapewarden-hand-'
const CACHE = `${STORES}4`
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

/** What was kept last, by this worker or by one with another store: of all stores the one that was written to last. */
async function keptBefore() {
  let last = { at: -1, now: [], former: [], store: undefined }
  for (const name of await caches.keys()) {
    if (!name.startsWith(STORES)) continue
    const store = await caches.open(name)
    const found = await (await store.match(BEFORE))?.json()
    if (found && (found.at ?? 0) >= last.at) last = { at: 0, ...found, store }
  }
  return last
}

/** Two pages' files stay: of the newest, and of the one before, which may be open in the middle of a sheet; also out of another store. */
async function dropOld(cache, files) {
  const { at, now, former, store } = await keptBefore()
  const stay = { at: Math.max(Date.now(), at + 1), now: files, former: now.join() === files.join() ? former : now }
  for (const file of stay.former) {
    const kept = (await cache.match(file)) ? undefined : await store?.match(file)
    if (kept) await cache.put(file, kept)
  }
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
  const files = await keepAll(cache, answer)
  await cache.addAll(BESIDE)
  await dropOld(cache, files)
  await self.skipWaiting()
}

/** What is still needed of other workers' stores was brought into this one. */
async function activate() {
  const others = (await caches.keys()).filter((name) => name.startsWith(STORES) && name !== CACHE)
  await Promise.all(others.map((name) => caches.delete(name)))
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
