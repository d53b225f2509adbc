// Asks for what the first page shows while its script is still on the way. What comes back is taken by the pages' own client, once.
{
  const byLink = /^#(round|visit)=/.test(location.hash) || localStorage.getItem('tapewarden-goes-by') !== null
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
  const onSite = () => ['/api/v1/me', ...(location.hash.length > 2 ? [] : [orders, ...own()])]
  // A scanned label, and the pages that a link in a mail opens, are for those who are not signed in.
  const outside = /^\/(L\/|account-link|signed-in-elsewhere)/.test(location.pathname)
  const desk = () => (outside ? [] : ['/api/v1/me', ...(location.pathname === '/' ? ['/api/v1/this-week'] : [])])
  const paths = location.pathname === '/hand.html' ? (byLink ? [] : onSite()) : desk()
  window.tapewardenEarly = new Map(paths.map((path) => [path, ask(path)]))
}
