// Plain pages without scripts: a list, one mail, its parts; and the same as JSON.

const NAMED = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;', "'": '&#39;' }
const escape = (text) => String(text).replace(/[&<>"']/g, (sign) => NAMED[sign])

const STYLE = `
:root { color-scheme: light dark; font: 16px/1.5 system-ui, sans-serif }
body { max-width: 60rem; margin: 0 auto; padding: 1rem }
table { border-collapse: collapse; width: 100% } th, td { text-align: left; padding: .5rem .75rem .5rem 0; border-bottom: 1px solid color-mix(in srgb, currentColor 25%, transparent); vertical-align: top }
iframe { width: 100%; height: 36rem; border: 1px solid color-mix(in srgb, currentColor 25%, transparent); background: Canvas }
pre { white-space: pre-wrap; overflow-wrap: anywhere } dt { font-weight: 600 } dd { margin: 0 0 .5rem 0; overflow-wrap: anywhere }
@media (max-width: 32rem) { table, thead, tbody, tr, td { display: block } thead { position: absolute; left: -999rem } td { border: 0; padding: 0 } tr { border-bottom: 1px solid; padding: .5rem 0 } }`

function page(title, body, language = 'en') {
  return `<!doctype html><html lang="${language}"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>${escape(title)}</title><style>${STYLE}</style></head><body>${body}</body></html>`
}

function listPage(mails) {
  const rows = mails.map(
    ({ id, subject, to, receivedAt }) =>
      `<tr><td><a href="/mails/${id}">${escape(subject || '(no subject)')}</a></td><td>${escape(to)}</td><td><time datetime="${receivedAt}">${receivedAt.slice(0, 16).replace('T', ' ')} UTC</time></td></tr>`,
  )
  const body =
    mails.length === 0
      ? '<p>No mail has come yet. What Tapewarden sends while it runs on this machine will stand here.</p>'
      : `<p>${mails.length} mail${mails.length === 1 ? '' : 's'}, newest first.</p><table><thead><tr><th scope="col">Subject</th><th scope="col">To</th><th scope="col">Came</th></tr></thead><tbody>${rows.join('')}</tbody></table>`
  return page('Local mailbox', `<main><h1>Local mailbox</h1>${body}</main>`)
}

function mailPage(mail) {
  const parts = mail.attachments.map(
    ({ filename, size }, index) => `<li><a href="/mails/${mail.id}/parts/${index}">${escape(filename)}</a> (${size} bytes)</li>`,
  )
  const headers = Object.entries(mail.headers).map(([key, value]) => `<dt>${escape(key)}</dt><dd>${escape(value)}</dd>`)
  return page(
    mail.subject || 'Mail',
    `<main><p><a href="/">All mails</a></p><h1>${escape(mail.subject || '(no subject)')}</h1>
<p>From ${escape(mail.from)}<br>To ${escape(mail.to)}</p>
${mail.html ? `<h2>As a mail program shows it</h2><iframe sandbox title="The mail" src="/mails/${mail.id}/html"></iframe>` : ''}
<h2>Text</h2><pre>${escape(mail.text)}</pre>
${parts.length > 0 ? `<h2>Attached</h2><ul>${parts.join('')}</ul>` : ''}
<details><summary>Headers</summary><dl>${headers.join('')}</dl></details><p><a href="/mails/${mail.id}/raw">As it came</a></p></main>`,
  )
}

function asJson({ raw: _raw, attachments, ...mail }) {
  return {
    ...mail,
    attachments: attachments.map(({ content, ...part }) => ({
      ...part,
      text: part.contentType.startsWith('text/') ? content.toString('utf8') : null,
    })),
  }
}

function send(response, status, type, body, more = {}) {
  response.writeHead(status, {
    'content-type': type,
    'content-security-policy': "default-src 'none'; style-src 'unsafe-inline'; frame-src 'self'; form-action 'none'; base-uri 'none'",
    'x-content-type-options': 'nosniff',
    'cache-control': 'no-store',
    ...more,
  })
  response.end(body)
}

const HTML = 'text/html; charset=utf-8'

function sendPart(response, part) {
  if (!part) return send(response, 404, HTML, page('Not here', '<p>There is no such part.</p>'))
  const name = encodeURIComponent(part.filename)
  send(response, 200, 'application/octet-stream', part.content, { 'content-disposition': `attachment; filename*=UTF-8''${name}` })
}

export async function answer(store, request, response) {
  const path = (request.url ?? '/').split('?')[0]
  if (request.method !== 'GET' && request.method !== 'HEAD') return send(response, 405, 'text/plain', 'Only GET.')
  if (path === '/') return send(response, 200, HTML, listPage(store.list()))
  if (path === '/messages') return send(response, 200, 'application/json', JSON.stringify(store.list().map(asJson)))
  const [, id, part, index] = /^\/mails\/(\d+)(?:\/(html|raw|parts)(?:\/(\d+))?)?$/.exec(path) ?? []
  const mail = id ? store.find(Number(id)) : null
  if (!mail) return send(response, 404, HTML, page('Not here', '<p>There is no such mail. <a href="/">All mails</a></p>'))
  if (part === 'html') return send(response, 200, HTML, mail.html ?? '')
  if (part === 'raw') return send(response, 200, 'text/plain; charset=utf-8', mail.raw)
  if (part === 'parts') return sendPart(response, mail.attachments[Number(index)])
  return send(response, 200, HTML, mailPage(mail))
}
