/** A drill: a running installation is backed up, goes on, is lost, and is brought back to a second between two changes. */
import { readdirSync, rmSync } from 'node:fs'
import { basename, dirname, join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { afterAll, expect, it } from '@jest/globals'
import { type Client, clientOf, startSystem, startSystemIn, until } from './support/running.js'

type System = Awaited<ReturnType<typeof startSystem>>
interface Restored {
  seconds: number
  settled: { messages: number; reminders: number }
}
const tool = async <T>(name: string): Promise<T> => (await import(pathToFileURL(join(process.cwd(), 'tools', name)).href)) as T
const wait = (ms: number) => new Promise((done) => setTimeout(done, ms))
let system: System | null = null
let dataDir = ''

afterAll(async () => {
  await system?.stop(true)
  const { clusterFolder } = await tool<{ clusterFolder(asked: string): string }>('installation.mjs')
  if (dataDir === '') return
  const cluster = clusterFolder(join(dataDir, 'postgres'))
  // As root the data lies in a cache folder; what stood before the restore and the archive lie beside it.
  const [folder, name] = [dirname(cluster), basename(cluster)]
  for (const entry of cluster.startsWith(dataDir) ? [] : readdirSync(folder).filter((one) => one === name || one.startsWith(`${name}.`)))
    rmSync(join(folder, entry), { recursive: true, force: true })
  rmSync(dataDir, { recursive: true, force: true })
})

const mails = async (): Promise<{ id: string }[]> =>
  (await (await fetch(new URL('/messages', system!.urls.mailbox))).json()) as { id: string }[]
/** By what a mail itself says it is: the mailbox numbers anew after a start. */
async function messageIds(): Promise<string[]> {
  const raws = await Promise.all(
    (await mails()).map(async ({ id }) => (await fetch(new URL(`/mails/${id}/raw`, system!.urls.mailbox))).text()),
  )
  return raws.map((raw) => /^message-id:\s*(\S+)/im.exec(raw)?.[1] ?? raw.slice(0, 500))
}
async function manager(): Promise<Client> {
  const client = await clientOf(system!)
  await client.signIn(system!.signIns.find(({ role }) => role === 'manager')!)
  return client
}
const partNames = async (client: Client): Promise<string[]> => (await client.all('/api/v1/parts')).map(({ name }) => String(name))

it('a restore to a second has what was before it and nothing after, and sends no old reminder again', async () => {
  // A working morning in every warehouse of the demo, so that digests go out.
  const extraEnv = { SWEEP_SECONDS: '2', CLOCK_OFFSET: offsetTo('2026-03-04T15:00:00Z') }
  system = await startSystem({ demo: 'full', extraEnv })
  ;({ dataDir } = system)
  let client = await manager()
  await until('digests', 180, async () => (await mails()).length > 0)
  await until('quiet', 180, async () => {
    const before = (await mails()).length
    await wait(8000)
    return before === (await mails()).length
  })
  const { takeBackup } = await tool<{ takeBackup(asked: object): Promise<{ folder: string; bytes: number }> }>('backup.mjs')
  expect((await takeBackup({ data: dataDir })).bytes).toBeGreaterThan(1e6)

  await client.post('/api/v1/parts', { name: 'Kept part', stockCode: 'KEPT-1' })
  await wait(1500)
  const at = new Date()
  await wait(1500)
  await client.post('/api/v1/parts', { name: 'Lost part', stockCode: 'LOST-1' })
  const said = new Set(await messageIds())
  expect(said.size).toBeGreaterThan(0)
  await system.stop(true)

  const { restore } = await tool<{ restore(asked: object): Promise<Restored> }>('restore.mjs')
  for (const [name, value] of Object.entries(extraEnv)) process.env[name] = value
  const restored = await restore({ data: dataDir, at })
  expect(restored.seconds).toBeLessThan(1800)

  system = await startSystemIn(dataDir, { demo: 'full', extraEnv })
  client = await manager()
  const names = await partNames(client)
  expect(names).toContain('Kept part')
  expect(names).not.toContain('Lost part')
  // Several sweeps of the worker go by on the same working day.
  await wait(15_000)
  expect((await messageIds()).filter((id) => !said.has(id))).toEqual([])
}, 900_000)

function offsetTo(instant: string): string {
  return `${Math.round((Date.parse(instant) - Date.now()) / 60_000)}m`
}
