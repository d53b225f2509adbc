/** A real provider of OpenID Connect as a process of its own, and a browser's way through it. */
import { spawn } from 'node:child_process'
import { join } from 'node:path'
import { createInterface } from 'node:readline'

export interface TestProvider {
  issuer: string
  clientId: string
  clientSecret: string
  /** Who signs in there from now on. */
  signsIn(who: { sub: string; email: string; email_verified: boolean }): Promise<void>
  /** Goes from page to page as a fresh browser, until one begins with `back`. @returns its address */
  follow(url: string, back: string): Promise<string>
  stop(): Promise<void>
}

export async function startProvider(...redirectUris: string[]): Promise<TestProvider> {
  const child = spawn(process.execPath, [join(process.cwd(), 'tests/support/oidc-server.mjs'), ...redirectUris], {
    stdio: ['pipe', 'pipe', 'inherit'],
    env: { ...process.env, NODE_OPTIONS: '', NODE_NO_WARNINGS: '1' },
  })
  const ended = new Promise<void>((done) => child.once('exit', () => done()))
  const lines = createInterface({ input: child.stdout })
  const issuer = await new Promise<string>((done, fail) => {
    lines.on('line', (line) => {
      if (line.startsWith('{')) done((JSON.parse(line) as { issuer: string }).issuer)
    })
    child.once('exit', () => fail(new Error('The provider did not start.')))
  })
  return {
    issuer,
    clientId: 'tapewarden',
    clientSecret: 'a secret for tests only, long enough',
    async signsIn(who) {
      await fetch(`${issuer}/who`, { method: 'POST', body: JSON.stringify(who) })
    },
    async follow(url, back) {
      const jar = new Map<string, string>()
      for (let at = url, step = 0; step < 10; step++) {
        if (at.startsWith(back)) return at
        const cookie = [...jar].map(([name, value]) => `${name}=${value}`).join('; ')
        const answer = await fetch(at, { redirect: 'manual', headers: cookie ? { cookie } : {} })
        for (const text of answer.headers.getSetCookie()) {
          const [name, value] = (text.split(';')[0] ?? '').split(/=(.*)/s)
          jar.set(name ?? '', value ?? '')
        }
        const next = answer.headers.get('location')
        if (next === null) throw new Error(`${at} answered ${answer.status}: ${(await answer.text()).slice(0, 300)}`)
        at = new URL(next, at).href
      }
      throw new Error('It leads nowhere.')
    },
    async stop() {
      child.stdin.end()
      await ended
      lines.close()
    },
  }
}
