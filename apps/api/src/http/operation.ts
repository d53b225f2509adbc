import { Delete, Get, HttpCode, Patch, Post, Put, SetMetadata, applyDecorators } from '@nestjs/common'
import { type Route, type RouteName, routes } from '@tapewarden/shared'

export const OPERATION = 'tapewarden:operation'
const VERBS = { GET: Get, POST: Post, PUT: Put, PATCH: Patch, DELETE: Delete } as const

/** Binds a handler to its line of the route table: method, path, status, access and schemas all come from there. */
export function Operation(name: RouteName): MethodDecorator {
  const route: Route = routes[name]
  return applyDecorators(SetMetadata(OPERATION, name), VERBS[route.method](route.path), HttpCode(route.status))
}

export function routeOf(name: RouteName): Route {
  return routes[name]
}
