/** The desk, and the two pages that links in mails and other sign-ins lead to. */
import { QueryClient, QueryClientProvider } from '@tanstack/react-query'
import type { ComponentType, ReactNode } from 'react'
import { BrowserRouter } from 'react-router'
import { ApiProblem } from '../client/problems.js'
import { ChoosePassword } from '../ui/choose-password.js'
import { SignedInElsewhere } from '../ui/signed-in-elsewhere.js'
import { Desk } from './desk.js'
import type { OuterPlace } from './places.js'

const queries = new QueryClient({
  defaultOptions: {
    // Away from the network a page tries, and says that it is away, instead of waiting without a word.
    queries: { networkMode: 'always', staleTime: 15_000, retry: (count, error) => !(error instanceof ApiProblem) && count < 2 },
  },
})

const OUTER: Readonly<Record<OuterPlace, ComponentType>> = { '/account-link': ChoosePassword, '/signed-in-elsewhere': SignedInElsewhere }

export function Pages(): ReactNode {
  const Outer = OUTER[location.pathname as OuterPlace] as ComponentType | undefined
  return (
    <QueryClientProvider client={queries}>
      {Outer ? (
        <Outer />
      ) : (
        <BrowserRouter>
          <Desk />
        </BrowserRouter>
      )}
    </QueryClientProvider>
  )
}
