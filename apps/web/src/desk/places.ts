/** Every address of the desk. desk.tsx has a page for each, and the sweep of the tests opens each: one that is missing there is no type. */
export const DESK_PLACES = [
  '/',
  '/coming-up',
  '/machines',
  '/machines/:machineId',
  '/work',
  '/work/:workOrderId',
  '/visits',
  '/visits/new',
  '/visits/:visitId',
  '/stoppages',
  '/stoppages/:stoppageId',
  '/evidence',
  '/findings',
  '/conflicts',
  '/parts',
  '/mail',
  '/messages',
  '/account',
  '/begin',
  '/begin/:warehouseId',
  '/labels',
  '/imports',
  '/imports/:importId',
  '/set-up',
  '/set-up/access-keys',
  '/set-up/health',
  '/set-up/history',
  '/set-up/organisation',
  '/set-up/people',
  '/set-up/people/:personId/mail',
  '/set-up/plans/:servicePlanId',
  '/set-up/plans/:servicePlanId/edit',
  '/set-up/register',
  '/set-up/tablets',
  '/set-up/warehouses/:warehouseId',
  '/set-up/webhooks',
] as const
export type DeskPlace = (typeof DESK_PLACES)[number]

/** Where links of mails and other sign-ins lead: opened without a sign-in. */
export const OUTER_PLACES = ['/account-link', '/signed-in-elsewhere'] as const
export type OuterPlace = (typeof OUTER_PLACES)[number]
