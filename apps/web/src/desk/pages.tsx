/** The desk, and the two pages that links in mails and other sign-ins lead to. */
import { QueryClientProvider } from '@tanstack/react-query'
import type { ComponentType, ReactNode } from 'react'
import { UNSAFE_createBrowserHistory as pagesOfBrowser, unstable_HistoryRouter as Router } from 'react-router'
import { ChoosePassword } from '../ui/choose-password.js'
import { SignedInElsewhere } from '../ui/signed-in-elsewhere.js'
import { isSomethingTyped, leave } from './ask-before-leaving.js'
import { Desk } from './desk.js'
import { askingFirst } from './leaving.js'
import type { OuterPlace } from './places.js'
import { queries } from './what-was-read.js'

const OUTER: Readonly<Record<OuterPlace, ComponentType>> = { '/account-link': ChoosePassword, '/signed-in-elsewhere': SignedInElsewhere }

const pages = askingFirst(pagesOfBrowser({ v5Compat: true }), isSomethingTyped, leave)

export function Pages(): ReactNode {
  const Outer = OUTER[location.pathname as OuterPlace] as ComponentType | undefined
  return (
    <QueryClientProvider client={queries}>
      {Outer ? (
        <Outer />
      ) : (
        <Router history={pages}>
          <Desk />
        </Router>
      )}
    </QueryClientProvider>
  )
}
