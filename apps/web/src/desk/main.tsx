import { QueryClient, QueryClientProvider } from '@tanstack/react-query'
import { lazy, StrictMode, Suspense } from 'react'
import { createRoot } from 'react-dom/client'
import { BrowserRouter } from 'react-router'
import { ApiProblem } from '../client/problems.js'
import { ChoosePassword } from '../ui/choose-password.js'
import { SignedInElsewhere } from '../ui/signed-in-elsewhere.js'
import '../ui/look.css'
import { Desk } from './desk.js'

const Packer = lazy(async () => ({ default: (await import('../packer/packer.js')).Packer }))

const queries = new QueryClient({
  defaultOptions: {
    queries: { staleTime: 15_000, retry: (count, error) => !(error instanceof ApiProblem) && count < 2 },
  },
})

createRoot(document.getElementById('root') as HTMLElement).render(
  <StrictMode>
    <QueryClientProvider client={queries}>
      {location.pathname === '/account-link' ? (
        <ChoosePassword />
      ) : location.pathname === '/signed-in-elsewhere' ? (
        <SignedInElsewhere />
      ) : /^\/L\/\w+$/i.test(location.pathname) ? (
        <Suspense fallback={null}>
          <Packer token={location.pathname.slice(3).toUpperCase()} />
        </Suspense>
      ) : (
        <BrowserRouter>
          <Desk />
        </BrowserRouter>
      )}
    </QueryClientProvider>
  </StrictMode>,
)
