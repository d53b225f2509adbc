/** By the address: what a scanned label opens for packers, light enough for any phone, or the desk. */
import { lazy, StrictMode, Suspense } from 'react'
import { createRoot } from 'react-dom/client'
import '../ui/look.css'

const Packer = lazy(async () => ({ default: (await import('../packer/packer.js')).Packer }))
const Pages = lazy(async () => ({ default: (await import('./pages.js')).Pages }))
const label = /^\/L\/(\w+)$/i.exec(location.pathname)?.[1]

createRoot(document.getElementById('root') as HTMLElement).render(
  <StrictMode>
    <Suspense fallback={null}>{label === undefined ? <Pages /> : <Packer token={label.toUpperCase()} />}</Suspense>
  </StrictMode>,
)
