import { readdir, readFile, rename, mkdir } from 'node:fs/promises'
import { join } from 'node:path'
import { parseBounce } from '@tapewarden/messaging'
import { takeBounce } from '@tapewarden/persistence/sql'
import type { WorkerParts } from '../parts.js'

/** Read at one sweep; the rest waits for the next. */
const MOST_FILES = 200

/**
 * Reads a mailbox folder of the Maildir kind, into which the mail server delivers what comes back: each file of 'new' is
 * taken in once and moved to 'cur'. A death in between takes it in again, which changes nothing.
 * Such mail may be forged, so only what names a mail of ours, sent to that very address, counts.
 * @returns how many files were read
 */
export async function readBounceFolder({ database, clock, queue, log, settings }: WorkerParts): Promise<number> {
  const folder = settings.BOUNCE_FOLDER
  if (folder === undefined) return 0
  await mkdir(join(folder, 'cur'), { recursive: true })
  const files = (await readdir(join(folder, 'new')).catch(() => [])).filter((name) => !name.startsWith('.')).sort()
  for (const name of files.slice(0, MOST_FILES)) {
    const taken = await takeBounce(database, await parseBounce(await readFile(join(folder, 'new', name))), await clock.now(), false)
    await rename(join(folder, 'new', name), join(folder, 'cur', `${name}:2,S`))
    log.info({ entries: taken.entries, suppressed: taken.suppressed, unknown: taken.unknown }, 'mail that came back was read')
    await queue.enqueueAll(taken.toCompose.map((input) => ({ name: 'compose_messages', input }))).catch(() => undefined)
  }
  return Math.min(files.length, MOST_FILES)
}
