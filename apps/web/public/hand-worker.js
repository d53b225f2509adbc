// Opens the on-site pages without a network. Answers of the api are never kept here: the pages keep them themselves, with their age.
const CACHE = 'tapewarden-hand-1'

self.addEventListener('install', (event) => {
  event.waitUntil(caches.open(CACHE).then((cache) => cache.add('/hand.html')).then(() => self.skipWaiting()))
})

self.addEventListener('activate', (event) => {
  event.waitUntil(
    caches
      .keys()
      .then((names) => Promise.all(names.filter((name) => name !== CACHE).map((name) => caches.delete(name))))
      .then(() => self.clients.claim()),
  )
})

async function fresh(request, key) {
  const cache = await caches.open(CACHE)
  try {
    const answer = await fetch(request)
    if (answer.ok) await cache.put(key, answer.clone())
    return answer
  } catch (error) {
    const kept = await cache.match(key)
    if (kept) return kept
    throw error
  }
}

async function kept(request) {
  const cache = await caches.open(CACHE)
  const known = await cache.match(request)
  if (known) return known
  const answer = await fetch(request)
  if (answer.ok) await cache.put(request, answer.clone())
  return answer
}

self.addEventListener('fetch', (event) => {
  const url = new URL(event.request.url)
  if (event.request.method !== 'GET' || url.origin !== location.origin) return
  if (url.pathname === '/hand.html') event.respondWith(fresh(event.request, '/hand.html'))
  else if (url.pathname.startsWith('/assets/')) event.respondWith(kept(event.request))
})
