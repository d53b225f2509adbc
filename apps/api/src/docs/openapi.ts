/** The OpenAPI 3.1 document, made from the route table: what is checked is what is written. */
import {
  type Access,
  evidenceItemOfManySchema,
  evidenceItemSchema,
  problemSchema,
  type Route,
  REQUEST_HEADER,
  ROUND_LINK_HEADER,
  routes,
  TABLET_HEADER,
  workEntryOfManySchema,
  workEntrySchema,
} from '@tapewarden/shared'
import { z } from 'zod'
import { SESSION_COOKIE } from '../http/cookie.js'
import { takesVersion } from '../http/versions.js'

type Json = Record<string, unknown>

/** Taken in any form, since each is checked by itself and a bad one stops nothing else; this is the form that is not refused. */
const CHECKED_ONE_BY_ONE = new Map<unknown, z.ZodType>([
  [evidenceItemOfManySchema, evidenceItemSchema],
  [workEntryOfManySchema, workEntrySchema],
])

function writeWhatIsChecked({ zodSchema, jsonSchema }: { zodSchema: unknown; jsonSchema: object }): void {
  const checked = CHECKED_ONE_BY_ONE.get(zodSchema)
  if (!checked) return
  for (const key of Object.keys(jsonSchema)) Reflect.deleteProperty(jsonSchema, key)
  Object.assign(jsonSchema, { description: 'Each is checked by itself: a bad one stops nothing else.' }, schemaOf(checked, 'input'))
}

function schemaOf(schema: z.ZodType, io: 'input' | 'output'): Json {
  const { $schema: _unused, ...json } = z.toJSONSchema(schema, {
    io,
    target: 'draft-2020-12',
    unrepresentable: 'any',
    reused: 'inline',
    override: writeWhatIsChecked,
  }) as Json
  return json
}

function parametersOf(schema: z.ZodType | undefined, place: 'path' | 'query'): Json[] {
  if (!schema) return []
  const { properties = {}, required = [] } = schemaOf(schema, 'input') as { properties?: Record<string, Json>; required?: string[] }
  return Object.entries(properties).map(([name, json]) => ({
    name,
    in: place,
    required: place === 'path' || required.includes(name),
    schema: json,
  }))
}

function securityOf({ access, keyScope }: Route): Json[] {
  if (access === 'public') return []
  if (access === 'round_link') return [{ roundLink: [] }]
  if (access === 'tablet') return [{ sharedTablet: [] }]
  return keyScope === undefined ? [{ session: [] }] : [{ session: [] }, { accessKey: [keyScope] }]
}

function accessWords(access: Access): string {
  if (access === 'public') return 'For everyone.'
  if (access === 'tablet') return 'For a shared tablet by itself.'
  return access === 'round_link' ? 'For the holder of a round link.' : `For: ${access.join(', ')}.`
}

const problem = (description: string): Json => ({
  description,
  content: { 'application/problem+json': { schema: { $ref: '#/components/schemas/Problem' } } },
})

/** OpenAPI 3.1: of bytes that are sent as they are, the media type says everything. */
function contentOf({ file, response }: Route): Json {
  return file === undefined ? { 'application/json': { schema: schemaOf(response, 'output') } } : { [file]: {} }
}

function responsesOf(route: Route): Json {
  const answers: Json = {
    [route.status]: { description: 'As asked', content: contentOf(route) },
    429: problem('Too many requests; Retry-After says when'),
    503: problem('Not available just now; Retry-After says when'),
  }
  if (route.params || route.query || route.body) answers[400] = problem('The request is not well formed; errors point to where')
  if (route.access !== 'public') answers[401] = problem('Not signed in')
  if (Array.isArray(route.access)) answers[403] = problem('Not allowed')
  if (route.params) answers[404] = problem('Unknown, of another organisation, or out of reach: all the same')
  if (route.method !== 'GET') {
    answers[409] = problem('In conflict with what is there')
    answers[422] = problem('Not possible')
    if (takesVersion(route)) answers[412] = problem('Changed since the version that If-Match names')
  }
  return answers
}

const header = (name: string, required: boolean, schema: Json, description: string): Json => ({
  name,
  in: 'header',
  required,
  schema,
  description,
})

/** Headers of a request that changes something. */
function changingHeaders(route: Route): Json[] {
  if (route.method === 'GET') return []
  const headers = [
    header(REQUEST_HEADER, route.keyScope === undefined, { type: 'string', const: '1' }, 'A form of a foreign page cannot set it.'),
  ]
  if (route.access !== 'public')
    headers.push(
      header(
        'Idempotency-Key',
        false,
        { type: 'string', minLength: 1, maxLength: 255 },
        'Does it once: a repeat gets the same answer; 409 while the first is in flight, 422 with another body. Kept 7 days.',
      ),
    )
  if (takesVersion(route))
    headers.push(header('If-Match', false, { type: 'string' }, 'The ETag that was read; 412 when somebody changed it since.'))
  return headers
}

function operationOf(name: string, route: Route): Json {
  return {
    operationId: name,
    tags: [route.noun],
    summary: route.summary,
    description: accessWords(route.access),
    security: securityOf(route),
    parameters: [...parametersOf(route.params, 'path'), ...parametersOf(route.query, 'query'), ...changingHeaders(route)],
    ...(route.body ? { requestBody: { required: true, content: { 'application/json': { schema: schemaOf(route.body, 'input') } } } } : {}),
    responses: responsesOf(route),
  }
}

const ABOUT = `Keeps fleets of packing-line tape dispensers in service.

**Ways in.** A person: POST /api/v1/session sets the cookie, and each request that changes something carries the header \`${REQUEST_HEADER}: 1\`. A program: an access key as bearer (POST /api/v1/access-keys), for the routes that name a scope.

**Days and instants.** A day (YYYY-MM-DD) is the local one of the warehouse where the machine stood; an instant has its offset from UTC. Use that lies in the past may be given at any time: what followed from it is worked out anew.

**Dates.** \`earlyOn\`, \`likelyOn\` and \`lateOn\` are the days by which the task has fallen due with a chance of 10, 50 and 90 %, \`noLaterThan\` a cap beside them; the reason stands in \`why\`, or in \`reason\` where there is no date. They follow what was written within seconds: a warehouse whose \`upToDate\` is true has taken in everything.

**Lists.** \`nextCursor\` goes back as \`cursor\` until it is null.

**Measured lengths** come with the work orders: POST /api/v1/work-orders drafts one from open occurrences (\`issue\`: to its technician at once), and its entries accept, acknowledge, start, measure, tell the task done and finish; \`madeAt\` may lie in the past, as with a phone that was offline. An entry is done once for each \`id\`.`

export function openApiDocument(): Json {
  const paths: Record<string, Json> = {}
  const table: [string, Route][] = Object.entries(routes)
  for (const [name, route] of table) {
    const path = route.path.replace(/:(\w+)/g, '{$1}')
    paths[path] = { ...paths[path], [route.method.toLowerCase()]: operationOf(name, route) }
  }
  return {
    openapi: '3.1.0',
    info: {
      title: 'Tapewarden',
      version: '1',
      description: ABOUT,
      license: { name: 'Apache-2.0', identifier: 'Apache-2.0' },
    },
    servers: [{ url: '/' }],
    tags: [...new Set(table.map(([, route]) => route.noun))].map((name) => ({ name })),
    paths,
    components: {
      schemas: { Problem: schemaOf(problemSchema, 'output') },
      securitySchemes: {
        session: { type: 'apiKey', in: 'cookie', name: SESSION_COOKIE },
        accessKey: { type: 'http', scheme: 'bearer', description: 'An access key; the scope that a route asks for stands beside it.' },
        roundLink: { type: 'apiKey', in: 'header', name: ROUND_LINK_HEADER },
        sharedTablet: { type: 'apiKey', in: 'header', name: TABLET_HEADER },
      },
    },
  }
}
