import react from '@vitejs/plugin-react'
import { readFileSync } from 'node:fs'
import { readFile, writeFile } from 'node:fs/promises'
import { resolve } from 'node:path'
import { brotliCompressSync, gzipSync } from 'node:zlib'
import { defineConfig, type HtmlTagDescriptor, type IndexHtmlTransformContext, type Plugin } from 'vite'

const here = import.meta.dirname ?? process.cwd()

type Handler = (html: string, context: IndexHtmlTransformContext) => HtmlTagDescriptor[]
const inHead = (name: string, handler: Handler): Plugin => ({ name, transformIndexHtml: { order: 'post', handler } })

/** A chunk with all that it brings along, its own name first; with `lazily` also what it loads only when it is asked for. */
function filesOf({ bundle }: IndexHtmlTransformContext, from: readonly string[], lazily: boolean): Set<string> {
  const found = new Set<string>()
  const walk = (file: string): void => {
    const chunk = bundle?.[file]
    if (chunk?.type !== 'chunk' || found.has(file)) return
    found.add(file)
    for (const next of [...chunk.imports, ...(lazily ? chunk.dynamicImports : [])]) walk(next)
  }
  from.forEach(walk)
  return found
}

/**
 * Names in hand.html what its pages load only when it is asked for (the camera's decoder), so that the service worker keeps it
 * together with the page. No browser loads a link of this kind by itself.
 */
const nameLaterFiles = (): Plugin =>
  inHead('name-later-files', (_html, context) => {
    if (!context.filename.endsWith('hand.html')) return []
    const later = filesOf(context, context.chunk?.dynamicImports ?? [], true)
    return [...later].map((file) => ({ tag: 'link', attrs: { rel: 'x-later', href: `/${file}` }, injectTo: 'head' }))
  })

/** A line of desk.tsx that says which file an address is brought from. */
const BROUGHT = /'(\/[^']*)': async \(\) => \(\{ default: \(await import\('\.\/([\w-]+)\.js'\)/g

/**
 * Tells in index.html which scripts each address of the desk needs, so that early.js has them fetched together, not one after another
 * as each names the next. A scanned label opens a small page of its own, which must not bring the desk's.
 */
const nameScriptsOfPages = (): Plugin =>
  inHead('name-scripts-of-pages', (_html, context) => {
    if (!context.filename.endsWith('index.html')) return []
    const chunkOf = (file: string): string => {
      const found = Object.values(context.bundle ?? {}).find(
        (chunk) => chunk.type === 'chunk' && chunk.facadeModuleId === resolve(here, `src/desk/${file}.tsx`),
      )
      if (!found) throw new Error(`No script was made of the desk's ${file}.tsx.`)
      return found.fileName
    }
    const frame = filesOf(context, [chunkOf('pages')], false)
    const pages = [...readFileSync(resolve(here, 'src/desk/desk.tsx'), 'utf8').matchAll(BROUGHT)].map(([, place = '', file = '']) => [
      place,
      [...filesOf(context, [chunkOf(file)], false)].filter((name) => !frame.has(name)),
    ])
    if (pages.length === 0) throw new Error('desk.tsx does not say any more which file an address is brought from.')
    const children = JSON.stringify({ frame: [...frame], pages: Object.fromEntries(pages) })
    return [{ tag: 'script', attrs: { id: 'scripts', type: 'application/json' }, children, injectTo: 'head-prepend' }]
  })

/** Packed beside each file, so that a phone on a slow network loads a third of it; the api serves what the browser takes. */
function packFiles(): Plugin {
  return {
    name: 'pack-files',
    apply: 'build',
    async writeBundle({ dir = '' }, bundle) {
      for (const file of Object.keys(bundle).filter((name) => /\.(js|css|html)$/.test(name))) {
        const bytes = await readFile(resolve(dir, file))
        await writeFile(resolve(dir, `${file}.gz`), gzipSync(bytes, { level: 9 }))
        await writeFile(resolve(dir, `${file}.br`), brotliCompressSync(bytes))
      }
    },
  }
}

export default defineConfig({
  root: here,
  plugins: [react(), nameLaterFiles(), nameScriptsOfPages(), packFiles()],
  resolve: { conditions: ['source', 'module', 'browser', 'development|production'] },
  build: {
    target: 'es2022',
    sourcemap: false,
    rolldownOptions: { input: { desk: resolve(here, 'index.html'), hand: resolve(here, 'hand.html') } },
  },
})
