/** The desk, and the two pages that links in mails and other sign-ins lead to. */
import { QueryClient, QueryClientProvider } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { BrowserRouter } from 'react-router'
import { ApiProblem } from '../client/problems.js'
import { ChoosePassword } from '../ui/choose-password.js'
import { SignedInElsewhere } from '../ui/signed-in-elsewhere.js'
import { Desk } from './desk.js'

const queries = new QueryClient({
  defaultOptions: {
    queries: { staleTime: 15_000, retry: (count, error) => !(error instanceof ApiProblem) && count < 2 },
  },
})

export function Pages(): ReactNode {
  return <QueryClientProvider client={queries}>{pageAt(location.pathname)}</QueryClientProvider>
}

function pageAt(path: string): ReactNode {
  if (path === '/account-link') return <ChoosePassword />
  if (path === '/signed-in-elsewhere') return <SignedInElsewhere />
  return (
    <BrowserRouter>
      <Desk />
    </BrowserRouter>
  )
}
