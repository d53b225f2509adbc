// Asks for what the first page shows while its script is still on the way. What comes back is taken by the pages' own client, once.
{
  const { pathname, search, hash } = location
  const byLink = /^#(round|visit)=/.test(hash) || localStorage.getItem('tapewarden-goes-by') !== null
  // Read to its end here: an answer that no page takes would keep its connection.
  const whole = async (answer) => new Response(await answer.arrayBuffer(), { status: answer.status, headers: answer.headers })
  const ask = (path) =>
    fetch(path, { credentials: 'same-origin', headers: { accept: 'application/json', 'x-tapewarden': '1' } })
      .then(whole)
      .catch(() => null)
  // Visits are asked for from today on; where the day was another one, the page asks for itself.
  const now = new Date()
  const today = [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((part) => String(part).padStart(2, '0')).join('-')
  const own = () => {
    try {
      const paths = JSON.parse(localStorage.getItem('tapewarden-early') ?? '[]')
      return paths.filter((path) => path.startsWith('/api/v1/')).map((path) => path.replace(/from=\d{4}-\d\d-\d\d/, `from=${today}`))
    } catch {
      return []
    }
  }
  const orders = '/api/v1/work-orders?mine=true&state=issued,accepted,under_way,waiting,returned&limit=100'
  const onSite = () => ['/api/v1/me', ...(hash.length > 2 ? [] : [orders, ...own()])]
  // A scanned label, and the pages that a link in a mail opens, are for those who are not signed in.
  const outside = /^\/(L\/|account-link|signed-in-elsewhere)/.test(pathname)
  const lastYear = new Date(Date.parse(today) - 365 * 86_400_000).toISOString().slice(0, 10)
  /** What the desk's places ask for as they are opened by their links: the wording of the pages' own requests, letter by letter. */
  const FIRST = {
    '/': ['this-week'],
    '/coming-up': ['coming-up?weeks=8&limit=500'],
    '/machines': ['machines?limit=100&order=walking'],
    '/work': ['work-orders?limit=200&state=drafted%2Cissued%2Caccepted%2Cunder_way%2Cwaiting%2Creturned%2Cdone'],
    '/stoppages': [`review?from=${lastYear}&to=${today}`, `stoppages?from=${lastYear}&to=${today}&limit=200`],
    '/parts': ['part-needs?days=90', 'parts?limit=200'],
  }
  const first = () => (search === '' ? (FIRST[pathname] ?? []).map((path) => `/api/v1/${path}`) : [])
  const paths = pathname === '/hand.html' ? (byLink ? [] : onSite()) : outside ? [] : ['/api/v1/me', ...first()]

  /** Scripts of the desk name each other one after the other: have all of this page's fetched at once. */
  const scripts = outside ? null : JSON.parse(document.getElementById('scripts')?.textContent ?? 'null')
  const steps = (path) => path.replace(/\/$/, '').split('/')
  const isAt = (place) =>
    steps(place).length === steps(pathname).length && steps(place).every((step, at) => step.startsWith(':') || step === steps(pathname)[at])
  const place = scripts && Object.keys(scripts.pages).find(isAt)
  for (const file of scripts ? [...scripts.frame, ...(scripts.pages[place] ?? [])] : [])
    document.head.append(Object.assign(document.createElement('link'), { rel: 'modulepreload', href: `/${file}`, crossOrigin: '' }))

  // After the scripts: a browser has but six requests at once under way, and a page cannot show what it has not come to read.
  window.tapewardenEarly = new Map(paths.map((path) => [path, ask(path)]))
}
