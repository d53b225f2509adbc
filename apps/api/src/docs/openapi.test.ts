import { describe, expect, it } from '@jest/globals'
import { openApiDocument } from './openapi.js'

interface Schema {
  description?: string
  oneOf?: unknown[]
  items?: Schema
  properties?: Record<string, Schema>
}
const document = openApiDocument() as {
  paths: Record<string, Record<string, { requestBody: { content: Record<string, { schema: Schema }> } }>>
}
const bodyOf = (path: string) => document.paths[path]?.['post']?.requestBody.content['application/json']?.schema

describe('the OpenAPI document', () => {
  it('writes down what is checked one by one, where many come at once', () => {
    const { description, ...evidence } = bodyOf('/api/v1/evidence/bulk')?.properties?.['items']?.items ?? {}
    expect(evidence).toEqual(bodyOf('/api/v1/evidence'))
    expect(evidence.oneOf?.length).toBeGreaterThan(4)
    expect(description).toContain('by itself')
    const entry = bodyOf('/api/v1/work-entries')?.properties?.['entries']?.items?.properties?.['entry']
    expect(entry?.oneOf).toEqual(bodyOf('/api/v1/work-orders/{workOrderId}/entries')?.oneOf)
    expect(entry?.oneOf?.length).toBeGreaterThan(10)
  })
})
