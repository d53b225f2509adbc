// Makes the database client from prisma/schema into libs/persistence/src/generated, without any download.
import { spawnSync } from 'node:child_process'
import { join } from 'node:path'
import { root } from './lib.mjs'

// Generating needs no engine, but looks for one; a program that always fails stands in for it. One that
// always succeeds would let 'migrate deploy' report success and do nothing.
const env = {
  ...process.env,
  NODE_OPTIONS: '',
  PRISMA_SCHEMA_ENGINE_BINARY: '/bin/false',
  CHECKPOINT_DISABLE: '1',
  PRISMA_HIDE_UPDATE_MESSAGE: '1',
}
const { status, stdout, stderr } = spawnSync(process.execPath, [join(root, 'node_modules/prisma/build/index.js'), 'generate'], {
  cwd: root,
  env,
  encoding: 'utf8',
})
if (status !== 0) {
  console.error(`The database client could not be made:\n${stdout}${stderr}`)
  process.exit(1)
}
