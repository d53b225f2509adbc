import react from '@vitejs/plugin-react'
import { resolve } from 'node:path'
import { defineConfig } from 'vite'

const here = import.meta.dirname ?? process.cwd()

export default defineConfig({
  root: here,
  plugins: [react()],
  resolve: { conditions: ['source', 'module', 'browser', 'development|production'] },
  build: {
    target: 'es2022',
    sourcemap: false,
    rolldownOptions: { input: { desk: resolve(here, 'index.html'), hand: resolve(here, 'hand.html') } },
  },
})
