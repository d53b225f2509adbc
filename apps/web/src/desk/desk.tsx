/** The frame of the desk: who is signed in, the five places, the page below. */
import { useQuery } from '@tanstack/react-query'
import { type ComponentType, lazy, type ReactNode, Suspense, useState } from 'react'
import { matchPath, NavLink, Navigate, Route, Routes, useLocation } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { ApiProblem } from '../client/problems.js'
import { Boundary } from '../ui/boundary.js'
import { Bones, Fault, Heading } from '../ui/parts.js'
import { SignIn } from '../ui/sign-in.js'
import { AskBeforeLeaving, forgetTyped, leave } from './ask-before-leaving.js'
import { FindLabel } from './find-label.js'
import { MeContext } from './me.js'
import { DESK_PLACES, type DeskPlace } from './places.js'
import { Printed } from './printed.js'
import { StillSending } from './still-sending.js'
import { type HowRead, queries, ReadBefore, useHowRead } from './what-was-read.js'

/** Brought along when it is opened. */
const BRING: Readonly<Record<DeskPlace, () => Promise<{ default: ComponentType }>>> = {
  '/': async () => ({ default: (await import('./this-week.js')).ThisWeek }),
  '/coming-up': async () => ({ default: (await import('./coming-up.js')).ComingUp }),
  '/machines': async () => ({ default: (await import('./machines.js')).Machines }),
  '/machines/:machineId': async () => ({ default: (await import('./machine.js')).Machine }),
  '/work': async () => ({ default: (await import('./work.js')).Work }),
  '/work/:workOrderId': async () => ({ default: (await import('./order.js')).Order }),
  '/visits': async () => ({ default: (await import('./visits.js')).Visits }),
  '/visits/new': async () => ({ default: (await import('./visits.js')).NewVisit }),
  '/visits/:visitId': async () => ({ default: (await import('./visits.js')).OneVisit }),
  '/stoppages': async () => ({ default: (await import('./stoppages.js')).Stoppages }),
  '/stoppages/:stoppageId': async () => ({ default: (await import('./stoppage.js')).Stoppage }),
  '/evidence': async () => ({ default: (await import('./evidence.js')).Evidence }),
  '/findings': async () => ({ default: (await import('./findings.js')).Findings }),
  '/conflicts': async () => ({ default: (await import('./conflicts.js')).Conflicts }),
  '/parts': async () => ({ default: (await import('./parts.js')).Parts }),
  '/mail': async () => ({ default: (await import('./mail-wishes.js')).MyMail }),
  '/messages': async () => ({ default: (await import('./messages.js')).Messages }),
  '/account': async () => ({ default: (await import('./account.js')).Account }),
  '/begin': async () => ({ default: (await import('./begin.js')).Begin }),
  '/begin/:warehouseId': async () => ({ default: (await import('./begin-steps.js')).BeginSteps }),
  '/labels': async () => ({ default: (await import('./labels.js')).Labels }),
  '/imports': async () => ({ default: (await import('./imports.js')).Imports }),
  '/imports/:importId': async () => ({ default: (await import('./import.js')).OneImport }),
  '/set-up': async () => ({ default: (await import('./set-up.js')).SetUp }),
  '/set-up/access-keys': async () => ({ default: (await import('./access-keys.js')).AccessKeys }),
  '/set-up/health': async () => ({ default: (await import('./health.js')).HealthPage }),
  '/set-up/history': async () => ({ default: (await import('./history.js')).HistoryPage }),
  '/set-up/organisation': async () => ({ default: (await import('./set-up-organisation.js')).SetUpOrganisation }),
  '/set-up/people': async () => ({ default: (await import('./set-up-people.js')).SetUpPeople }),
  '/set-up/people/:personId/mail': async () => ({ default: (await import('./mail-wishes.js')).PersonMail }),
  '/set-up/plans/:servicePlanId': async () => ({ default: (await import('./plan.js')).Plan }),
  '/set-up/plans/:servicePlanId/edit': async () => ({ default: (await import('./plan-edit.js')).PlanEdit }),
  '/set-up/register': async () => ({ default: (await import('./register.js')).Register }),
  '/set-up/tablets': async () => ({ default: (await import('./tablets.js')).Tablets }),
  '/set-up/types/:machineTypeId': async () => ({ default: (await import('./machine-type.js')).MachineTypePage }),
  '/set-up/warehouses/:warehouseId': async () => ({ default: (await import('./set-up-warehouse.js')).SetUpWarehouse }),
  '/set-up/webhooks': async () => ({ default: (await import('./webhooks.js')).Webhooks }),
}
const PAGES = Object.fromEntries(DESK_PLACES.map((place) => [place, lazy(BRING[place])])) as unknown as Record<DeskPlace, ComponentType>

/** The page of the address is on its way while we ask who is signed in. */
const here = DESK_PLACES.find((place) => matchPath(place, location.pathname))
if (here) BRING[here]().catch(() => undefined)

export type Me = Answer<'me'>

const PLACES = [
  ['/', 'This week'],
  ['/coming-up', 'Coming up'],
  ['/machines', 'Machines'],
  ['/work', 'Work'],
  ['/stoppages', 'Stoppages'],
] as const

export function Desk(): ReactNode {
  const read = useHowRead()
  const me = useQuery({ queryKey: ['me'], queryFn: () => call('me'), retry: false })
  if (me.isPending)
    return (
      <div className="frame">
        <Bones />
      </div>
    )
  if (me.error instanceof ApiProblem && me.error.status === 401) return <SignIn onDone={() => queries.invalidateQueries()} />
  if (me.error)
    return (
      <main className="frame">
        <h1 style={{ paddingTop: 24 }}>Tapewarden</h1>
        <Fault error={me.error} again={() => void me.refetch()} />
      </main>
    )
  return (
    <>
      {read === 'signed_out' ? <SignIn onDone={() => backAs(me.data)} again /> : null}
      {/* Kept while it is hidden: with it goes what was typed. */}
      <div hidden={read === 'signed_out'}>
        {me.data.person.role === 'instructed' ? <OnSiteOnly me={me.data} /> : <Frame me={me.data} read={read} />}
      </div>
    </>
  )
}

/** Who signs in again goes on where they were; somebody else begins anew. */
async function backAs(before: Me): Promise<void> {
  const now = await call('me')
  if (now.person.id === before.person.id) await queries.invalidateQueries()
  else {
    forgetTyped()
    location.assign('/')
  }
}

function Frame({ me, read }: { me: Me; read: HowRead }): ReactNode {
  const { pathname } = useLocation()
  return (
    <MeContext value={me}>
      <a className="skip" href="#page">
        To the page
      </a>
      <div className="frame">
        <Head me={me} />
        <main id="page">
          <Printed />
          <AskBeforeLeaving />
          <StillSending />
          {read === 'before' ? <ReadBefore /> : null}
          <Boundary at={pathname} kept="Without the network, only pages that were open before can be; nothing you sent is lost.">
            <Suspense fallback={<Bones />}>
              <Routes>
                {DESK_PLACES.map((place) => {
                  const Page = PAGES[place]
                  return <Route key={place} path={place} element={<Page />} />
                })}
                <Route path="*" element={<Navigate to="/" replace />} />
              </Routes>
            </Suspense>
          </Boundary>
        </main>
      </div>
    </MeContext>
  )
}

function Head({ me }: { me: Me }): ReactNode {
  return (
    <header className="head">
      <Places me={me} />
      <FindLabel />
    </header>
  )
}

function Places({ me }: { me: Me }): ReactNode {
  const [stays, setStays] = useState(false)
  const signOut = async (): Promise<void> => {
    setStays(false)
    await call('signOut')
    queries.clear()
    location.assign('/')
  }
  return (
    <nav className="places" aria-label="Places">
      <span className="name">Tapewarden</span>
      {PLACES.map(([to, name]) => (
        <NavLink key={to} to={to} end={to === '/'}>
          {name}
        </NavLink>
      ))}
      <span className="who">
        <NavLink to="/mail" aria-label={`${me.person.name}: your mail`}>
          {me.person.name}
        </NavLink>{' '}
        · <NavLink to="/parts">Parts</NavLink> · <NavLink to="/set-up">Set-up</NavLink> · <a href="/hand.html">On site</a> ·{' '}
        <NavLink to="/account">Account</NavLink> ·{' '}
        <button
          className="small"
          style={{ minHeight: 28, padding: '0 8px' }}
          onClick={() => leave(() => void signOut().catch(() => setStays(true)))}
        >
          Sign out
        </button>
        {stays ? <strong role="alert"> You are still signed in: the server cannot be reached.</strong> : null}
      </span>
    </nav>
  )
}

function OnSiteOnly({ me }: { me: Me }): ReactNode {
  const Account = PAGES['/account']
  if (location.pathname === '/account')
    return (
      <MeContext value={me}>
        <main className="frame">
          <Suspense fallback={<Bones />}>
            <Account />
          </Suspense>
          <p>
            <a href="/hand.html">Here, today</a>
          </p>
        </main>
      </MeContext>
    )
  return (
    <main className="frame" style={{ paddingTop: 32 }}>
      <Heading title="On site">Your pages are the ones for work on site</Heading>
      <p>
        <a className="button main" href="/hand.html">
          Here, today
        </a>
      </p>
      <p>
        <a href="/account">Your account</a>
      </p>
    </main>
  )
}
