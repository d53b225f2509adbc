import react from '@vitejs/plugin-react'
import { readFile, writeFile } from 'node:fs/promises'
import { resolve } from 'node:path'
import { brotliCompressSync, gzipSync } from 'node:zlib'
import { defineConfig, type Plugin } from 'vite'

const here = import.meta.dirname ?? process.cwd()

/**
 * Names in hand.html what its pages load only when it is asked for (the camera's decoder), so that the service worker keeps it
 * together with the page. No browser loads a link of this kind by itself.
 */
function nameLaterFiles(): Plugin {
  return {
    name: 'name-later-files',
    transformIndexHtml: {
      order: 'post',
      handler(_html, { bundle, chunk }) {
        const later = new Set<string>()
        const walk = (file: string): void => {
          const found = bundle?.[file]
          if (found?.type !== 'chunk' || later.has(file)) return
          later.add(file)
          for (const next of [...found.imports, ...found.dynamicImports]) walk(next)
        }
        for (const file of chunk?.dynamicImports ?? []) walk(file)
        return [...later].map((file) => ({ tag: 'link', attrs: { rel: 'x-later', href: `/${file}` }, injectTo: 'head' as const }))
      },
    },
  }
}

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
  plugins: [react(), nameLaterFiles(), packFiles()],
  resolve: { conditions: ['source', 'module', 'browser', 'development|production'] },
  build: {
    target: 'es2022',
    sourcemap: false,
    rolldownOptions: { input: { desk: resolve(here, 'index.html'), hand: resolve(here, 'hand.html') } },
  },
})
