/** One controller a noun. */
import type { Type } from '@nestjs/common'
import { AccessKeysController } from './access-keys/access-keys.controller.js'
import { AccountsController } from './accounts/accounts.controller.js'
import { BeginningsController } from './beginnings/beginnings.controller.js'
import { EvidenceController } from './evidence/evidence.controller.js'
import { FactorsController } from './factors/factors.controller.js'
import { FindingsController } from './findings/findings.controller.js'
import { FleetChangesController } from './fleet-changes/fleet-changes.controller.js'
import { HealthController } from './health/health.controller.js'
import { ImportsController } from './imports/imports.controller.js'
import { LabelsController } from './labels/labels.controller.js'
import { MachineTypesController } from './machine-types/machine-types.controller.js'
import { MachinesController } from './machines/machines.controller.js'
import { MailController } from './mail/mail.controller.js'
import { MessagesController } from './messages/messages.controller.js'
import { OccurrencesController } from './occurrences/occurrences.controller.js'
import { OidcController } from './oidc/oidc.controller.js'
import { OrganisationController } from './organisation/organisation.controller.js'
import { PackersController } from './packers/packers.controller.js'
import { PartsController } from './parts/parts.controller.js'
import { PeopleController } from './people/people.controller.js'
import { PhonesController } from './phones/phones.controller.js'
import { PhotosController } from './photos/photos.controller.js'
import { RoundsController } from './rounds/rounds.controller.js'
import { SavedViewsController } from './saved-views/saved-views.controller.js'
import { SessionsController } from './sessions/sessions.controller.js'
import { StationsController } from './stations/stations.controller.js'
import { StoppagesController } from './stoppages/stoppages.controller.js'
import { TabletsController } from './tablets/tablets.controller.js'
import { VisitsController } from './visits/visits.controller.js'
import { WarehousesController } from './warehouses/warehouses.controller.js'
import { WebhooksController } from './webhooks/webhooks.controller.js'
import { WorkOrdersController } from './work-orders/work-orders.controller.js'

export const CONTROLLERS: Type[] = [
  HealthController,
  SessionsController,
  AccountsController,
  TabletsController,
  PhonesController,
  FactorsController,
  OidcController,
  OrganisationController,
  WebhooksController,
  SavedViewsController,
  AccessKeysController,
  BeginningsController,
  WarehousesController,
  StationsController,
  PeopleController,
  MachineTypesController,
  MachinesController,
  FindingsController,
  FleetChangesController,
  EvidenceController,
  ImportsController,
  LabelsController,
  PackersController,
  OccurrencesController,
  WorkOrdersController,
  PhotosController,
  RoundsController,
  VisitsController,
  StoppagesController,
  PartsController,
  MessagesController,
  MailController,
]
