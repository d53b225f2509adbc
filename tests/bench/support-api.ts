/** The api in a process of its own, for benches: started, asked for its figures, ended. */
import { REQUEST_HEADER } from '@tapewarden/shared'
import { type ChildProcess, fork } from 'node:child_process'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import type { Client } from 'pg'
import type { Order, Statement } from './support-api-server.js'

const root = join(import.meta.dirname, '../../..')
export const PASSWORD = 'only for benches 4Kx'
export const EMAIL = 'first@bench.example'

export class Server {
  private constructor(
    private readonly child: ChildProcess,
    readonly url: string,
  ) {}

  static async start(mode: 'product' | 'bare', databaseUrl: string, now: string): Promise<Server> {
    const child = fork(join(import.meta.dirname, 'support-api-server.js'), [mode, databaseUrl, now], {
      stdio: ['ignore', 'inherit', 'inherit', 'ipc'],
    })
    const { url } = await new Promise<{ url: string }>((done, failed) => {
      child.once('message', (word) => done(word as { url: string }))
      child.once('exit', (code) => failed(new Error(`the ${mode} server ended with ${code}`)))
    })
    return new Server(child, url)
  }

  private ask<Answer>(order: Order): Promise<Answer> {
    const answered = new Promise<Answer>((done) => this.child.once('message', (word) => done(word as Answer)))
    this.child.send(order)
    return answered
  }

  async cpuMicroseconds(): Promise<number> {
    return (await this.ask<{ cpuMicroseconds: number }>({ ask: 'cpu' })).cpuMicroseconds
  }
  async recording(on: boolean): Promise<Statement[]> {
    return (await this.ask<{ statements: Statement[] }>({ ask: 'record', on })).statements
  }
  know(name: string, statements: Statement[]): Promise<unknown> {
    return this.ask({ ask: 'statements', name, statements })
  }
  async residentMegabytes(): Promise<number> {
    return (await this.ask<{ residentBytes: number }>({ ask: 'memory' })).residentBytes / 2 ** 20
  }
  end(): void {
    this.child.send({ ask: 'end' } satisfies Order)
  }
}

/** The fleet's manager can sign in. */
export async function givePassword(owner: Client, organisationId: string): Promise<void> {
  const { hashPassword } = (await import(pathToFileURL(join(root, 'apps/api/dist/sessions/passwords.js')).href)) as {
    hashPassword(password: string): Promise<string>
  }
  await owner.query(`UPDATE person SET email = $2, password_hash = $3 WHERE organisation_id = $1 AND name = 'First'`, [
    organisationId,
    EMAIL,
    await hashPassword(PASSWORD),
  ])
}

export async function signIn(url: string): Promise<string> {
  const reply = await fetch(`${url}/api/v1/session`, {
    method: 'POST',
    headers: { 'content-type': 'application/json', [REQUEST_HEADER]: '1' },
    body: JSON.stringify({ email: EMAIL, password: PASSWORD }),
  })
  if (!reply.ok) throw new Error(`sign-in answered ${reply.status}`)
  return String(reply.headers.get('set-cookie')).split(';')[0] as string
}
