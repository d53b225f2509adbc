import 'reflect-metadata'
import {
  APP_FILTER,
  APP_GUARD,
  APP_INTERCEPTOR,
  DiscoveryModule,
  DiscoveryService,
  MetadataScanner,
  NestFactory,
  Reflector,
} from '@nestjs/core'
import { Module, type Provider, type Type } from '@nestjs/common'
import { FastifyAdapter, type NestFastifyApplication } from '@nestjs/platform-fastify'
import { Database } from '@tapewarden/persistence'
import { type Clock, createLogger, type Logger, newId, type OidcProvider } from '@tapewarden/platform'
import { serveBounces } from './bounces/serve-bounces.js'
import { serveCalendar } from './calendar/serve-calendar.js'
import type { FastifyReply, FastifyRequest } from 'fastify'
import { CONTROLLERS } from './controllers.js'
import { serveDocs } from './docs/serve-docs.js'
import { AccessGuard } from './http/access.guard.js'
import { ContractInterceptor } from './http/contract.interceptor.js'
import { refuseUndeclaredHandlers, UndeclaredRouteError, unknownServerRoutes } from './http/declared-routes.js'
import { Idempotency } from './http/idempotency.js'
import { streamFiles } from './http/stream-files.js'
import { logRequests } from './http/log-requests.js'
import { servePages } from './http/pages.js'
import { sayTime, WatchedClock } from './http/say-time.js'
import { ProblemFilter, sendProblem } from './http/problem.filter.js'
import { secure } from './http/security.js'
import type { Installation } from './health/not-safe.js'
import { ImportRunner } from './imports/runner.js'
import { Identities } from './sessions/identities.js'
import { TabletIdentities } from './tablets/tablet-identities.js'
import { SignIns } from './sessions/sign-ins.js'
import { Tries } from './sessions/tries.js'
import { noPlanningRequests, type PlanningRequests } from './use/planning-requests.js'
import { CLOCK, PLANNING_REQUESTS, SETTINGS } from './use/tokens.js'
import { Work } from './use/work.js'
import { serveUnsubscribe } from './unsubscribe/serve-unsubscribe.js'

export interface ApiOptions {
  database: Database
  clock: Clock
  secretKey: string
  publicUrl: string
  /** Of the mail server that hands in what comes back; left out: nobody may. */
  bounceSecret?: string | undefined
  /** How the rest is set up, for the page that says what is not safe; left out: only PUBLIC_URL is known. */
  installation?: Installation
  planning?: PlanningRequests
  /** Organisations' own sign-ins. */
  oidcProviders?: readonly OidcProvider[] | undefined
  logger?: Logger
  /** Folder of the built web app; left out or not there: no pages. */
  webFolder?: string
  requestsPerMinute?: number
  /** True where a proxy that ends TLS stands in front. */
  behindProxy?: boolean
  /** For a test of the start-up check. */
  moreControllers?: Type[]
}

const BODY_LIMIT_BYTES = 4 * 1024 * 1024
/** Twenty requests a second from one address. */
const REQUESTS_PER_MINUTE = 1200

function installationOf({ installation, publicUrl }: ApiOptions): Installation {
  return installation ?? { production: true, publicUrl, queueUrl: null, smtpUrl: null, signsMail: true, clockShifted: false }
}

function providersOf(options: ApiOptions): Provider[] {
  const secureCookies = options.publicUrl.startsWith('https:')
  return [
    { provide: Database, useValue: options.database },
    { provide: CLOCK, useValue: options.clock },
    { provide: PLANNING_REQUESTS, useValue: options.planning ?? noPlanningRequests },
    {
      provide: SETTINGS,
      useValue: {
        secretKey: options.secretKey,
        publicUrl: options.publicUrl,
        secureCookies,
        installation: installationOf(options),
        oidcProviders: options.oidcProviders ?? [],
      },
    },
    { provide: APP_GUARD, useClass: AccessGuard },
    { provide: APP_INTERCEPTOR, useClass: ContractInterceptor },
    { provide: APP_FILTER, useClass: ProblemFilter },
    Idempotency,
    Identities,
    TabletIdentities,
    ImportRunner,
    SignIns,
    Tries,
    Work,
  ]
}

/** What is not found is answered by servePages alone; Fastify takes one such handler. */
class OurAdapter extends FastifyAdapter {
  override setNotFoundHandler(): ReturnType<FastifyAdapter['setNotFoundHandler']> {
    return this.getInstance()
  }
}

function adapterFor(logger: Logger, behindProxy: boolean): FastifyAdapter {
  return new OurAdapter({
    loggerInstance: logger,
    disableRequestLogging: true,
    genReqId: () => newId(),
    bodyLimit: BODY_LIMIT_BYTES,
    // The address of the asker, for the throttles: behind a proxy of our own network, as that says; else the peer's own.
    trustProxy: behindProxy ? 'loopback, uniquelocal' : false,
    routerOptions: { maxParamLength: 200 },
    forceCloseConnections: 'idle',
    // What Fastify refuses before any route is asked, such as an address that is too long.
    frameworkErrors: (error: Error, request: FastifyRequest, reply: FastifyReply) => sendProblem(request, reply, error),
    return503OnClosing: true,
  })
}

/**
 * The whole api, ready to listen or to be asked with inject. Owns neither database nor clock.
 * @throws UndeclaredRouteError where a handler has no declared access, or a declared route no handler
 */
export async function createApi(given: ApiOptions): Promise<NestFastifyApplication> {
  const clock = new WatchedClock(given.clock)
  const options = { ...given, clock }
  const logger = options.logger ?? createLogger('api', 'silent')
  class ApiModule {}
  Module({
    imports: [DiscoveryModule],
    controllers: [...CONTROLLERS, ...(options.moreControllers ?? [])],
    providers: providersOf(options),
  })(ApiModule)
  const app = await NestFactory.create<NestFastifyApplication>(ApiModule, adapterFor(logger, options.behindProxy ?? false), {
    logger: false,
    abortOnError: false,
  })
  const registered: { method: string | string[]; url: string }[] = []
  app
    .getHttpAdapter()
    .getInstance()
    .addHook('onRoute', ({ method, url }) => void registered.push({ method, url }))
  sayTime(app, clock)
  logRequests(app)
  await secure(app, {
    publicUrl: options.publicUrl,
    requestsPerMinute: options.requestsPerMinute ?? REQUESTS_PER_MINUTE,
    https: options.publicUrl.startsWith('https:'),
  })
  streamFiles(app)
  serveDocs(app)
  await serveUnsubscribe(app, options)
  await serveCalendar(app, options)
  await serveBounces(app, options)
  await servePages(app, options.webFolder)
  refuseUndeclaredHandlers(app.get(DiscoveryService), app.get(MetadataScanner), new Reflector())
  await app.init()
  await app.getHttpAdapter().getInstance().ready()
  const unknown = unknownServerRoutes(registered)
  if (unknown.length > 0) throw new UndeclaredRouteError(`The server has routes that the table does not know: ${unknown.join(', ')}`)
  return app
}
