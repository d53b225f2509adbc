import { describe, expect, it } from '@jest/globals'
import { z } from 'zod'
import {
  createMachineTypeRequestSchema,
  createWarehouseRequestSchema,
  evidenceItemSchema,
  instantSchema,
  type Route,
  routeRooms,
  routes,
  textSchema,
} from './index.js'

const table: [string, Route][] = Object.entries(routes)

describe('route table', () => {
  it('has each name in one room alone, and every room', () => {
    const names = routeRooms.flatMap((room) => Object.keys(room))
    expect(new Set(names).size).toBe(names.length)
    expect(names).toEqual(Object.keys(routes))
  })
  it('has each method and path once', () => {
    const lines = table.map(([, route]) => `${route.method} ${route.path.replace(/:\w+/g, ':')}`)
    expect(new Set(lines).size).toBe(lines.length)
  })
  it.each(table)('%s: its parameters are those of the path', (_name, route) => {
    const inPath = [...route.path.matchAll(/:(\w+)/g)].map((match) => match[1]).sort()
    const inSchema = route.params instanceof z.ZodObject ? Object.keys(route.params.shape).sort() : []
    expect(inSchema).toEqual(inPath)
  })
  it.each(table)('%s: a GET takes no body, every schema can be written as JSON Schema', (_name, route) => {
    if (route.method === 'GET') expect(route.body).toBeUndefined()
    for (const schema of [route.params, route.query, route.body])
      if (schema) expect(z.toJSONSchema(schema, { io: 'input' })).toHaveProperty('$schema')
    expect(z.toJSONSchema(route.response)).toHaveProperty('$schema')
  })
})

describe('requests', () => {
  it.each([
    ['Mars/Olympus_Mons', false],
    ['+02:00', false],
    ['', false],
    ['Europe/Berlin', true],
    ['UTC', true],
  ])('zone %s: %s', (zone, good) => {
    expect(createWarehouseRequestSchema.safeParse({ name: 'Hall', zone }).success).toBe(good)
  })
  it('tells a mistyped key', () => {
    const result = createWarehouseRequestSchema.safeParse({ name: 'Hall', zone: 'UTC', adress: 'x' })
    expect(result.error?.issues[0]).toMatchObject({ code: 'unrecognized_keys', keys: ['adress'] })
  })
  it('refuses U+0000, a negative amount and a longest strip below the shortest', () => {
    expect(textSchema(9).safeParse('a\u0000b').success).toBe(false)
    expect(evidenceItemSchema.safeParse({ kind: 'strips_day', labelCode: 'A-1', day: '2026-05-04', strips: -1 }).success).toBe(false)
    const type = { name: 'T', drive: 'electric', supply: 'cord_and_plug', heater: true, shortestStripMm: 200, longestStripMm: 100 }
    expect(createMachineTypeRequestSchema.safeParse(type).error?.issues[0]?.path).toEqual(['longestStripMm'])
  })
  it.each([
    ['2026-05-04T10:00:00Z', true],
    ['2026-05-04T10:00:00+02:00', true],
    ['2026-05-04T10:00:00', false],
    ['2026-02-30T10:00:00Z', false],
    ['0001-01-01T00:00:00Z', false],
    ['9999-12-31T23:59:59Z', false],
  ])('instant %s: %s', (text, good) => {
    expect(instantSchema.safeParse(text).success).toBe(good)
  })
})
