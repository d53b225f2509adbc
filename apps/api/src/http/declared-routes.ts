import { type RouteName, routes } from '@tapewarden/shared'
import { DiscoveryService, MetadataScanner, Reflector } from '@nestjs/core'
import { OPERATION } from './operation.js'

export class UndeclaredRouteError extends Error {}

/**
 * Every handler has its line in the route table, and every line its one handler. Called before the api listens.
 * @throws UndeclaredRouteError that names them
 */
export function refuseUndeclaredHandlers(discovery: DiscoveryService, scanner: MetadataScanner, reflector: Reflector): void {
  const handled = new Map<RouteName, string>()
  const faults: string[] = []
  for (const { instance, metatype } of discovery.getControllers()) {
    const prototype = Object.getPrototypeOf(instance) as Record<string, (...args: unknown[]) => unknown>
    for (const method of scanner.getAllMethodNames(prototype)) {
      const handler = prototype[method]
      if (!handler || Reflect.getMetadata('path', handler) === undefined) continue
      const name = reflector.get<RouteName | undefined>(OPERATION, handler)
      const where = `${metatype?.name ?? 'a controller'}.${method}`
      if (!name) faults.push(`${where} declares no operation and so no access.`)
      else if (handled.has(name)) faults.push(`${name} is handled twice: ${handled.get(name)} and ${where}.`)
      else handled.set(name, where)
    }
  }
  for (const name of Object.keys(routes))
    if (!handled.has(name as RouteName)) faults.push(`${name} is in the route table and has no handler.`)
  if (faults.length > 0)
    throw new UndeclaredRouteError(`The routes are not as declared:\n${faults.map((fault) => `- ${fault}`).join('\n')}`)
}

/** Routes that are no operation: documents, the pages of the web app, and the link that ends reminder mails. */
const PLAIN = ['/openapi.json', '/docs', '/docs/style.css', '/unsubscribe/:token', '/calendar/:file', '/inbound/bounces', '/*', '*', '/']

/** Watches what is registered with the server itself, so that no plugin brings a route along unseen. */
export function unknownServerRoutes(registered: readonly { method: string | string[]; url: string }[]): string[] {
  const declared = new Set(Object.values(routes).map((route) => `${route.method} ${route.path}`))
  return registered
    .flatMap(({ method, url }) => [method].flat().map((verb) => ({ verb, url })))
    .filter(({ verb, url }) => !PLAIN.includes(url) && verb !== 'HEAD' && verb !== 'OPTIONS' && !declared.has(`${verb} ${url}`))
    .map(({ verb, url }) => `${verb} ${url}`)
}
