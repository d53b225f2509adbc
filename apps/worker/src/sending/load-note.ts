import { isMailAddress, type RenderedMail, renderNote } from '@tapewarden/messaging'
import type { PgScope } from '@tapewarden/persistence/sql'
import type { WorkerSettings } from '../settings.js'
import type { Claimed } from './claim.js'
import { readReaders } from './rows.js'

export interface LoadedNote {
  rendered: RenderedMail
  to: { name: string; address: string }
  unsubscribeUrl: null
}

/** A mail about the mails carries its facts itself. @returns a word on why there is nothing to send, where there is nothing */
export async function loadNote(scope: PgScope, message: Claimed, settings: WorkerSettings): Promise<LoadedNote | string> {
  const reader = (await readReaders(scope, [message])).get(message.id)
  if (!reader?.email || reader.disabled || reader.refused || !isMailAddress(reader.email)) return 'the person can have no mail'
  if (message.facts === null) return 'its facts are gone'
  if (message.facts.kind === 'workers_silent') return 'a worker is there again'
  return {
    rendered: renderNote({
      person: { name: reader.name, language: reader.language, units: reader.units },
      today: message.localDay,
      facts: message.facts,
      healthUrl: `${settings.PUBLIC_URL.replace(/\/$/, '')}/set-up/health`,
      deskUrl: `${settings.PUBLIC_URL.replace(/\/$/, '')}/`,
    }),
    to: { name: reader.name, address: reader.email },
    unsubscribeUrl: null,
  }
}
