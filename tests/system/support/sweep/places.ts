/** What the sweep opens: every address of the routers' own tables, and the few that no table holds. A page without its row here is no type. */
import { DESK_PLACES, type DeskPlace, OUTER_PLACES, type OuterPlace } from '../../../../apps/web/src/desk/places.js'
import { HAND_PLACES, type HandPlace } from '../../../../apps/web/src/hand/places.js'
import type { Ids } from './ground.js'

export type Role = 'administrator' | 'manager' | 'technician' | 'instructed'
export const STATES = ['much', 'none', 'wrong', 'away', 'denied'] as const
/** Much data; an organisation without any; an api that answers 500; none that answers; somebody who may not. */
export type State = (typeof STATES)[number]

export interface Place {
  name: string
  on: 'desk' | 'hand'
  address: (ids: Ids) => string
  /** null: nobody is signed in. */
  role: Role | null
  states: readonly State[]
}

/** Addresses with the ids of what is looked at; else as the router's table has them. */
const DESK: Readonly<Record<DeskPlace, { query?: string; role?: Role } | null>> = {
  '/': null,
  '/coming-up': null,
  '/machines': null,
  '/machines/:machineId': null,
  '/work': null,
  '/work/:workOrderId': null,
  '/visits': null,
  '/visits/new': { query: '?warehouseId=:warehouseId' },
  '/visits/:visitId': null,
  '/stoppages': null,
  '/stoppages/:stoppageId': null,
  '/evidence': null,
  '/findings': null,
  '/conflicts': null,
  '/parts': null,
  '/mail': null,
  '/messages': null,
  '/account': null,
  '/begin': { role: 'administrator' },
  '/begin/:warehouseId': null,
  '/labels': null,
  '/imports': null,
  '/imports/:importId': null,
  '/set-up': { role: 'administrator' },
  '/set-up/access-keys': { role: 'administrator' },
  '/set-up/health': null,
  '/set-up/history': null,
  '/set-up/organisation': { role: 'administrator' },
  '/set-up/people': { role: 'administrator' },
  '/set-up/people/:personId/mail': null,
  '/set-up/plans/:servicePlanId': null,
  '/set-up/plans/:servicePlanId/edit': null,
  '/set-up/register': { query: '?what=machine' },
  '/set-up/tablets': null,
  '/set-up/types/:machineTypeId': null,
  '/set-up/warehouses/:warehouseId': null,
  '/set-up/webhooks': { role: 'administrator' },
}

const HAND: Readonly<Record<HandPlace, { rest?: string; role?: Role }>> = {
  '': {},
  order: { rest: '/:workOrderId' },
  round: { rest: '/:warehouseId' },
  visit: { rest: '/:visitId' },
  stand: { rest: '/:warehouseId' },
  machine: { rest: '/:labelCode/scanned' },
  code: {},
  'shared-tablet': { role: 'manager' },
}

const OUTER: Readonly<Record<OuterPlace, string>> = {
  '/account-link': '/account-link#:accountLink',
  '/signed-in-elsewhere': '/signed-in-elsewhere?state=unknown',
}

/** Frames rather than pages: no table holds them. */
const MORE: readonly Place[] = [
  outer('sign-in', '/'),
  outer('forgotten password', '/?forgotten'),
  { ...outer('sign-in on site', '/hand.html'), on: 'hand' },
  { ...outer('what a label opens', '/L/:labelToken'), on: 'hand' },
  { ...outer('a label that is no longer', '/L/0000000000000000'), on: 'hand' },
  { ...outer('a round by a mail’s link', '/hand.html#round=:roundSecret'), on: 'hand' },
  { ...outer('a visit by its link', '/hand.html#visit=:visitSecret'), on: 'hand' },
  {
    name: 'the on-site pages of who only walks rounds',
    on: 'hand',
    address: () => '/hand.html',
    role: 'instructed',
    states: ['much', 'none'],
  },
  { name: 'the desk of who only walks rounds', on: 'desk', address: () => '/', role: 'instructed', states: ['much'] },
  { name: 'the account of who only walks rounds', on: 'desk', address: () => '/account', role: 'instructed', states: ['much'] },
]

function outer(name: string, pattern: string): Place {
  return { name, on: 'desk', address: filled(pattern), role: null, states: ['much', 'wrong', 'away'] }
}

function filled(pattern: string): (ids: Ids) => string {
  return (ids) =>
    pattern.replace(/:([A-Za-z]+)/g, (_, name: string) => {
      if (!(name in ids)) throw new Error(`The sweep knows no ${name}: add one to ground.ts.`)
      return encodeURIComponent(ids[name as keyof Ids])
    })
}

export const PLACES: readonly Place[] = [
  ...DESK_PLACES.map((place): Place => {
    const { query = '', role = 'manager' } = DESK[place] ?? {}
    return { name: `desk ${place}`, on: 'desk', address: filled(place + query), role, states: STATES }
  }),
  ...HAND_PLACES.map((place): Place => {
    const { rest = '', role = 'technician' } = HAND[place]
    return { name: `on site /${place}`, on: 'hand', address: filled(`/hand.html#/${place}${rest}`), role, states: STATES }
  }),
  ...OUTER_PLACES.map((place) => outer(place, OUTER[place])),
  ...MORE,
]

/** Who asks for a page that is not for them. */
export const deniedRole = ({ on }: Place): Role => (on === 'desk' ? 'technician' : 'instructed')
