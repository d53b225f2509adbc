// Prints what Prisma's own engine would change to bring a migrated database to prisma/schema; nothing where they agree.
// node tests/support/prisma-diff.mjs DATABASE_URL [SCHEMA_FOLDER]
import { readdirSync, readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { join, resolve } from 'node:path'
import { PrismaPg } from '@prisma/adapter-pg'
import { bindMigrationAwareSqlAdapterFactory, ColumnTypeEnum } from '@prisma/driver-adapter-utils'
import * as engineGlue from '@prisma/schema-engine-wasm/schema_engine_bg'
import pg from 'pg'

const root = resolve(import.meta.dirname, '../..')
const [url, schemaFolder = join(root, 'prisma/schema')] = process.argv.slice(2)
const CHAR_OID = 18
const TEXT_OID = 25

/** Node 20 cannot import wasm by itself. */
async function loadEngine() {
  const require = createRequire(import.meta.url)
  const path = join(require.resolve('@prisma/schema-engine-wasm'), '..', 'schema_engine_bg.wasm')
  const { instance } = await WebAssembly.instantiate(readFileSync(path), { './schema_engine_bg.js': engineGlue })
  engineGlue.__wbg_set_wasm(instance.exports)
  instance.exports.__wbindgen_start()
  return engineGlue.SchemaEngine
}

/** The stock adapter does not know the type of the catalogue's one-letter columns. */
function withLetters(adapter) {
  const perform = adapter.performIO.bind(adapter)
  let fields = []
  adapter.performIO = async (query) => {
    const answer = await perform(query)
    fields = answer.fields
    return {
      ...answer,
      fields: fields.map((field) => (field.dataTypeID === CHAR_OID ? { ...field, dataTypeID: TEXT_OID, name: field.name } : field)),
    }
  }
  const ask = adapter.queryRaw.bind(adapter)
  adapter.queryRaw = async (query) => {
    const answer = await ask(query)
    for (const [index, field] of fields.entries()) if (field.dataTypeID === CHAR_OID) answer.columnTypes[index] = ColumnTypeEnum.Character
    return answer
  }
  return adapter
}

const pool = new pg.Pool({ connectionString: url, max: 4 })
const factory = new PrismaPg(pool)
const connect = factory.connect.bind(factory)
factory.connect = async () => withLetters(await connect())
factory.connectToShadowDb = () => Promise.reject(new Error('no second database is needed here'))

const names = readdirSync(schemaFolder)
  .filter((name) => name.endsWith('.prisma'))
  .sort()
const files = names.map((name) => ({ path: join(schemaFolder, name), content: readFileSync(join(schemaFolder, name), 'utf8') }))
const SchemaEngine = await loadEngine()
const engine = await SchemaEngine.new(
  { datamodels: files.map(({ path, content }) => [path, content]) },
  () => {},
  bindMigrationAwareSqlAdapterFactory(factory),
)
const { stdout } = await engine.diff({
  from: { tag: 'schemaDatasource', files, configDir: root },
  to: { tag: 'schemaDatamodel', files },
  script: true,
  exitCode: null,
  filters: { externalTables: [], externalEnums: [] },
})
const text = (stdout ?? '').trim()
if (text !== '-- This is an empty migration.') process.stdout.write(text)
process.exit(0)
