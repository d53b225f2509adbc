/** The frame of the desk: who is signed in, the five places, the page below. */
import { useQuery, useQueryClient } from '@tanstack/react-query'
import { lazy, type ReactNode, Suspense } from 'react'
import { NavLink, Navigate, Route, Routes } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { ApiProblem } from '../client/problems.js'
import { Bones, Fault } from '../ui/parts.js'
import { SignIn } from '../ui/sign-in.js'
import { FindLabel } from './find-label.js'
import { MeContext } from './me.js'

const Account = lazy(async () => ({ default: (await import('./account.js')).Account }))
const AccessKeys = lazy(async () => ({ default: (await import('./access-keys.js')).AccessKeys }))
const Tablets = lazy(async () => ({ default: (await import('./tablets.js')).Tablets }))
const ThisWeek = lazy(async () => ({ default: (await import('./this-week.js')).ThisWeek }))
const ComingUp = lazy(async () => ({ default: (await import('./coming-up.js')).ComingUp }))
const Machines = lazy(async () => ({ default: (await import('./machines.js')).Machines }))
const Machine = lazy(async () => ({ default: (await import('./machine.js')).Machine }))
const Work = lazy(async () => ({ default: (await import('./work.js')).Work }))
const Order = lazy(async () => ({ default: (await import('./order.js')).Order }))
const Stoppages = lazy(async () => ({ default: (await import('./stoppages.js')).Stoppages }))
const Evidence = lazy(async () => ({ default: (await import('./evidence.js')).Evidence }))
const Conflicts = lazy(async () => ({ default: (await import('./conflicts.js')).Conflicts }))
const SetUp = lazy(async () => ({ default: (await import('./set-up.js')).SetUp }))
const SetUpWarehouse = lazy(async () => ({ default: (await import('./set-up-warehouse.js')).SetUpWarehouse }))
const SetUpPeople = lazy(async () => ({ default: (await import('./set-up-people.js')).SetUpPeople }))
const SetUpOrganisation = lazy(async () => ({ default: (await import('./set-up-organisation.js')).SetUpOrganisation }))
const Webhooks = lazy(async () => ({ default: (await import('./webhooks.js')).Webhooks }))
const Register = lazy(async () => ({ default: (await import('./register.js')).Register }))
const Plan = lazy(async () => ({ default: (await import('./plan.js')).Plan }))
const PlanEdit = lazy(async () => ({ default: (await import('./plan-edit.js')).PlanEdit }))
const Visits = lazy(async () => ({ default: (await import('./visits.js')).Visits }))
const NewVisit = lazy(async () => ({ default: (await import('./visits.js')).NewVisit }))
const OneVisit = lazy(async () => ({ default: (await import('./visits.js')).OneVisit }))
const HealthPage = lazy(async () => ({ default: (await import('./health.js')).HealthPage }))
const MyMail = lazy(async () => ({ default: (await import('./mail-wishes.js')).MyMail }))
const PersonMail = lazy(async () => ({ default: (await import('./mail-wishes.js')).PersonMail }))
const Labels = lazy(async () => ({ default: (await import('./labels.js')).Labels }))
const Begin = lazy(async () => ({ default: (await import('./begin.js')).Begin }))
const BeginSteps = lazy(async () => ({ default: (await import('./begin-steps.js')).BeginSteps }))
const Imports = lazy(async () => ({ default: (await import('./imports.js')).Imports }))
const OneImport = lazy(async () => ({ default: (await import('./import.js')).OneImport }))
const Messages = lazy(async () => ({ default: (await import('./messages.js')).Messages }))
const Parts = lazy(async () => ({ default: (await import('./parts.js')).Parts }))

export type Me = Answer<'me'>

const PLACES = [
  ['/', 'This week'],
  ['/coming-up', 'Coming up'],
  ['/machines', 'Machines'],
  ['/work', 'Work'],
  ['/stoppages', 'Stoppages'],
] as const

export function Desk(): ReactNode {
  const queries = useQueryClient()
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
  if (me.data.person.role === 'instructed') return <OnSiteOnly me={me.data} />
  return (
    <MeContext value={me.data}>
      <a className="skip" href="#page">
        To the page
      </a>
      <div className="frame">
        <Head me={me.data} />
        <main id="page">
          <Suspense fallback={<Bones />}>
            <Routes>
              <Route index element={<ThisWeek />} />
              <Route path="coming-up" element={<ComingUp />} />
              <Route path="machines" element={<Machines />} />
              <Route path="machines/:machineId" element={<Machine />} />
              <Route path="work" element={<Work />} />
              <Route path="work/:workOrderId" element={<Order />} />
              <Route path="visits" element={<Visits />} />
              <Route path="visits/new" element={<NewVisit />} />
              <Route path="visits/:visitId" element={<OneVisit />} />
              <Route path="stoppages" element={<Stoppages />} />
              <Route path="evidence" element={<Evidence />} />
              <Route path="conflicts" element={<Conflicts />} />
              <Route path="parts" element={<Parts />} />
              <Route path="set-up/health" element={<HealthPage />} />
              <Route path="mail" element={<MyMail />} />
              <Route path="set-up/people/:personId/mail" element={<PersonMail />} />
              <Route path="messages" element={<Messages />} />
              <Route path="account" element={<Account me={me.data} />} />
              <Route path="set-up/access-keys" element={<AccessKeys />} />
              <Route path="set-up/tablets" element={<Tablets />} />
              <Route path="begin" element={<Begin />} />
              <Route path="begin/:warehouseId" element={<BeginSteps />} />
              <Route path="labels" element={<Labels />} />
              <Route path="imports" element={<Imports />} />
              <Route path="imports/:importId" element={<OneImport />} />
              <Route path="set-up" element={<SetUp />} />
              <Route path="set-up/warehouses/:warehouseId" element={<SetUpWarehouse />} />
              <Route path="set-up/people" element={<SetUpPeople />} />
              <Route path="set-up/organisation" element={<SetUpOrganisation />} />
              <Route path="set-up/webhooks" element={<Webhooks />} />
              <Route path="set-up/register" element={<Register />} />
              <Route path="set-up/plans/:servicePlanId" element={<Plan />} />
              <Route path="set-up/plans/:servicePlanId/edit" element={<PlanEdit />} />
              <Route path="*" element={<Navigate to="/" replace />} />
            </Routes>
          </Suspense>
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
  const queries = useQueryClient()
  const leave = async (): Promise<void> => {
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
        <button className="small" style={{ minHeight: 28, padding: '0 8px' }} onClick={() => void leave()}>
          Sign out
        </button>
      </span>
    </nav>
  )
}

function OnSiteOnly({ me }: { me: Me }): ReactNode {
  if (location.pathname === '/account')
    return (
      <main className="frame">
        <Suspense fallback={<Bones />}>
          <Account me={me} />
        </Suspense>
        <p>
          <a href="/hand.html">Here, today</a>
        </p>
      </main>
    )
  return (
    <div className="frame" style={{ paddingTop: 32 }}>
      <p>Your pages are the ones for work on site.</p>
      <a className="button main" href="/hand.html">
        Here, today
      </a>
      <p>
        <a href="/account">Your account</a>
      </p>
    </div>
  )
}
