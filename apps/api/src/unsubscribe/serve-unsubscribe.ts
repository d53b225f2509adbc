import type { NestFastifyApplication } from '@nestjs/platform-fastify'
import { type Language, languageOf, Words } from '@tapewarden/messaging'
import type { Database } from '@tapewarden/persistence'
import { type Clock, newId, readUnsubscribeLink, type UnsubscribeLink } from '@tapewarden/platform'
import type { FastifyInstance, FastifyReply } from 'fastify'

export interface UnsubscribeParts {
  database: Database
  clock: Clock
  secretKey: string
}

const STYLE =
  ':root{color-scheme:light dark;font:18px/1.5 system-ui,sans-serif}body{max-width:36em;margin:0 auto;padding:1rem}button{font:inherit;min-height:48px;padding:0 1rem}'

function page(reply: FastifyReply, status: number, title: string, body: string, language: Language = 'en'): FastifyReply {
  const html = `<!doctype html><html lang="${language}"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>${title}</title><style>${STYLE}</style></head><body><main><h1>${title}</h1>${body}</main></body></html>`
  return reply.code(status).type('text/html; charset=utf-8').header('cache-control', 'no-store').send(html)
}

/** Texts of our own catalogue, which hold no sign that means something in HTML. */
function ask(reply: FastifyReply, words: Words): FastifyReply {
  const form = `<form method="post"><input type="hidden" name="List-Unsubscribe" value="One-Click"><button>${words.say('unsubscribe.button')}</button></form>`
  return page(reply, 200, words.say('unsubscribe.ask'), `<p>${words.say('unsubscribe.what')}</p>${form}`, words.language)
}

function done(reply: FastifyReply, words: Words): FastifyReply {
  return page(reply, 200, words.say('unsubscribe.done'), `<p>${words.say('unsubscribe.back')}</p>`, words.language)
}

/** The page speaks as the mail did. */
async function wordsFor({ database }: UnsubscribeParts, { organisationId, personId }: UnsubscribeLink): Promise<Words> {
  const [row] = await database.withOrganisationSql(organisationId, (scope) =>
    scope.rows<{ language: string }>('SELECT language FROM person WHERE organisation_id = $1 AND id = $2', [organisationId, personId]),
  )
  return new Words(languageOf(row?.language ?? 'en'), 'si', '2026-01-01')
}

const FORGED = '<p>This link is not whole. Open it again from the mail, or ask an administrator.</p>'

/** Says once in the history that it was turned off by the link; repeating it changes nothing. */
async function turnOff({ database, clock }: UnsubscribeParts, { organisationId, personId }: UnsubscribeLink): Promise<void> {
  const now = await clock.now()
  await database.withOrganisationSql(organisationId, async (scope) => {
    const changed = await scope.run('UPDATE person SET reminder_mail = false WHERE organisation_id = $1 AND id = $2 AND reminder_mail', [
      organisationId,
      personId,
    ])
    if (changed === 0) return
    await scope.run(
      `INSERT INTO audit_entry (organisation_id, id, at, person_id, actor, action, subject_kind, subject_id, before, after)
       VALUES ($1, $2, $3, $4, 'unsubscribe link', 'reminder_mail_off', 'person', $4, '{"reminderMail": true}', '{"reminderMail": false}')`,
      [organisationId, newId(), now, personId],
    )
  })
}

/**
 * The link of List-Unsubscribe. GET asks and changes nothing, because mail programs fetch addresses by themselves;
 * POST turns the mails off without a sign-in (RFC 8058). The link names its person and can do nothing else.
 */
export async function serveUnsubscribe(app: NestFastifyApplication, parts: UnsubscribeParts): Promise<void> {
  await app.register(async (server: FastifyInstance) => {
    // RFC 8058 allows both forms; what they say does not matter, the link says it all.
    server.addContentTypeParser(
      /^(application\/x-www-form-urlencoded|multipart\/form-data)/,
      { parseAs: 'string' },
      (_request, _body, parsed) => parsed(null, {}),
    )
    const linkOf = (params: unknown) => readUnsubscribeLink(parts.secretKey, (params as { token: string }).token)
    server.get('/unsubscribe/:token', async (request, reply) => {
      const link = linkOf(request.params)
      return link ? ask(reply, await wordsFor(parts, link)) : page(reply, 404, 'No such link', FORGED)
    })
    server.post('/unsubscribe/:token', async (request, reply) => {
      const link = linkOf(request.params)
      if (!link) return page(reply, 404, 'No such link', FORGED)
      await turnOff(parts, link)
      return done(reply, await wordsFor(parts, link))
    })
  })
}
