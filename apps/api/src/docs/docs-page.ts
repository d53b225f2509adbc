/** A page to read the interface by: plain HTML from the route table, no script, nothing from elsewhere. */
import { type Route, REQUEST_HEADER, routes } from '@tapewarden/shared'
import { z } from 'zod'

function escaped(text: string): string {
  return text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;')
}

function schemaBlock(title: string, schema: z.ZodType | undefined, io: 'input' | 'output'): string {
  if (!schema) return ''
  const { $schema: _unused, ...json } = z.toJSONSchema(schema, { io, unrepresentable: 'any' }) as Record<string, unknown>
  return `<details><summary>${title}</summary><pre>${escaped(JSON.stringify(json, null, 2))}</pre></details>`
}

function accessWords(route: Route): string {
  if (route.access === 'public') return 'everyone'
  if (route.access === 'tablet') return 'a shared tablet by itself'
  return route.access === 'round_link' ? 'the holder of a round link' : route.access.join(', ')
}

function section([name, route]: [string, Route]): string {
  return `<section id="${name}"><h3>${escaped(route.summary)}</h3>
<p><code>${route.method} ${escaped(route.path)}</code> · for ${accessWords(route)} · answers ${route.status}</p>
${schemaBlock('Path', route.params, 'input')}${schemaBlock('Query', route.query, 'input')}${schemaBlock('Body', route.body, 'input')}${schemaBlock('Answer', route.response, 'output')}</section>`
}

export function docsPage(): string {
  const table: [string, Route][] = Object.entries(routes)
  const nouns = [...new Set(table.map(([, route]) => route.noun))]
  const of = (noun: string) => table.filter(([, route]) => route.noun === noun)
  return `<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>Tapewarden: interface</title><link rel="stylesheet" href="/docs/style.css"></head><body><main>
<h1>Tapewarden: interface</h1>
<p>${table.length} operations, made from the table that the server checks requests and answers with. The same as OpenAPI 3.1: <a href="/openapi.json">openapi.json</a>.</p>
<p>Sign in with <code>POST /api/v1/session</code>; the cookie that it sets goes with every further request. A request that changes something carries <code>${REQUEST_HEADER}: 1</code>. Failures are problem documents (RFC 9457) with a stable <code>code</code>. Lists are read on with <code>cursor</code>. Instants are RFC 3339 in UTC, dates are local days of the warehouse.</p>
<nav><ul>${nouns.map((noun) => `<li><a href="#${noun.replaceAll(' ', '-')}">${noun}</a></li>`).join('')}</ul></nav>
${nouns.map((noun) => `<h2 id="${noun.replaceAll(' ', '-')}">${noun}</h2>${of(noun).map(section).join('')}`).join('\n')}
</main></body></html>`
}

export const DOCS_STYLE = `:root{color-scheme:light dark}body{font:1rem/1.6 system-ui,sans-serif;margin:0}main{max-width:52rem;margin:auto;padding:1rem}
code,pre{font-family:ui-monospace,monospace;font-size:.9em}pre{overflow:auto;max-height:30rem;padding:.5rem;border:1px solid}h2{margin-top:3rem;border-bottom:1px solid}
nav ul{columns:3;padding-left:1.2rem}section{margin:1.5rem 0}h3{margin-bottom:.2rem}summary{cursor:pointer;min-height:1.6rem}`
