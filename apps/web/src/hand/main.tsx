import { StrictMode } from 'react'
import { createRoot } from 'react-dom/client'
import '../ui/look.css'
import { Hand } from './hand.js'

if ('serviceWorker' in navigator && import.meta.env.PROD) void navigator.serviceWorker.register('/hand-worker.js')
void navigator.storage?.persist?.()

createRoot(document.getElementById('root') as HTMLElement).render(
  <StrictMode>
    <Hand />
  </StrictMode>,
)
