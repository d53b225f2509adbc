/** The desk, and the two pages that links in mails and other sign-ins lead to. */
import { QueryClientProvider } from '@tanstack/react-query'
import type { ComponentType, ReactNode } from 'react'
import { BrowserRouter } from 'react-router'
import { ChoosePassword } from '../ui/choose-password.js'
import { SignedInElsewhere } from '../ui/signed-in-elsewhere.js'
import { Desk } from './desk.js'
import type { OuterPlace } from './places.js'
import { queries } from './what-was-read.js'

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
