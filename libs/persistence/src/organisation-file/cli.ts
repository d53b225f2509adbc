/**
 * An organisation into a file and out of one. DATABASE_URL: the application's address.
 *   write --organisation ID|NAME --to FILE      take --from FILE
 */
import { createWriteStream } from 'node:fs'
import { rename } from 'node:fs/promises'
import { userInfo } from 'node:os'
import { parseArgs } from 'node:util'
import { Database } from '../database.js'
import { FileRefusedError } from './read.js'
import { takeOrganisation } from './take.js'
import { writeOrganisation } from './write.js'

class AskedWronglyError extends Error {}

async function idOf(database: Database, asked: string): Promise<string> {
  const found: { id: string; name: string }[] = []
  for (const organisationId of await database.organisations())
    found.push(
      ...(await database.withOrganisationSql(organisationId, (scope) =>
        scope.rows<{ id: string; name: string }>('SELECT id, name FROM organisation'),
      )),
    )
  const fits = found.filter(({ id, name }) => id === asked || name === asked)
  if (fits.length === 1 && fits[0]) return fits[0].id
  throw new AskedWronglyError(
    `${fits.length === 0 ? 'None' : 'More than one'} of the organisations here is called ${asked}. There are:\n${found.map(({ id, name }) => `  ${id}  ${name}`).join('\n')}`,
  )
}

/** Under its name only when it is whole. */
async function write(database: Database, organisation: string, to: string): Promise<void> {
  const id = await idOf(database, organisation)
  await writeOrganisation(database, id, await database.askTime(), createWriteStream(`${to}.part`, { mode: 0o600 }))
  await rename(`${to}.part`, to)
  console.log(`Written to ${to}. It holds names, addresses and everything else but ways of signing in: keep it as you keep those.`)
}

async function take(database: Database, from: string): Promise<void> {
  const { name, organisationId, rows, auditEntries } = await takeOrganisation(database, from, `${userInfo().username} at the server`)
  console.log(`${name} (${organisationId}) is here: ${rows} rows, a history of ${auditEntries} entries that holds.`)
  console.log(`Before its worker starts: node apps/worker/dist/settle-restored.js ${organisationId}, so that no reminder is told twice.`)
  console.log('Nobody’s password came along. Each person sets a new one by ‘Forgotten the password?’ on the sign-in page.')
}

async function run(): Promise<void> {
  const { values, positionals } = parseArgs({
    allowPositionals: true,
    options: { organisation: { type: 'string' }, to: { type: 'string' }, from: { type: 'string' } },
  })
  const url = process.env.DATABASE_URL
  if (!url) throw new AskedWronglyError('DATABASE_URL is missing: the address of the application’s role.')
  const database = await Database.open({ url, applicationName: 'tapewarden organisation file', most: 2 })
  try {
    if (positionals[0] === 'write' && values.organisation && values.to) await write(database, values.organisation, values.to)
    else if (positionals[0] === 'take' && values.from) await take(database, values.from)
    else throw new AskedWronglyError('Say: write --organisation ID|NAME --to FILE, or: take --from FILE.')
  } finally {
    await database.close()
  }
}

run().catch((error: unknown) => {
  const known = error instanceof FileRefusedError || error instanceof AskedWronglyError
  console.error(known ? error.message : error)
  process.exit(known ? 2 : 1)
})
