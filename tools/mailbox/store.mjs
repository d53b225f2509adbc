import { mkdirSync, readFileSync, readdirSync, renameSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { simpleParser } from 'mailparser'

const MOST_KEPT = 2000

/** Mails in memory, newest first, each also as a file where a folder is given. */
export class MailStore {
  #mails = []
  #dir
  #next = 1

  constructor(dir) {
    this.#dir = dir
  }

  static async open(dir) {
    const store = new MailStore(dir)
    if (dir) {
      mkdirSync(dir, { recursive: true })
      for (const name of readdirSync(dir)
        .filter((file) => file.endsWith('.eml'))
        .sort())
        await store.#keep(readFileSync(join(dir, name)), Number.parseInt(name, 10))
    }
    return store
  }

  async add({ raw, from, to }) {
    const mail = await this.#keep(raw, this.#next, { from, to })
    if (!this.#dir) return
    const path = join(this.#dir, `${String(mail.id).padStart(6, '0')}.eml`)
    writeFileSync(`${path}.part`, raw)
    renameSync(`${path}.part`, path)
  }

  async #keep(raw, id, envelope = null) {
    // Before anything is waited for: mails that come at once have numbers of their own.
    this.#next = Math.max(this.#next, id + 1)
    const parsed = await simpleParser(raw, { skipTextToHtml: true, skipImageLinks: true })
    const mail = {
      id,
      receivedAt: new Date().toISOString(),
      from: parsed.from?.text ?? envelope?.from ?? '',
      to: parsed.to?.text ?? envelope?.to.join(', ') ?? '',
      envelopeTo: envelope?.to ?? (parsed.to?.value ?? []).map(({ address }) => address),
      subject: parsed.subject ?? '',
      messageId: parsed.messageId ?? '',
      date: parsed.date?.toISOString() ?? null,
      headers: Object.fromEntries(parsed.headerLines.map(({ key, line }) => [key, line.slice(line.indexOf(':') + 1).trim()])),
      text: parsed.text ?? '',
      html: parsed.html || null,
      attachments: parsed.attachments.map(({ filename, contentType, size, content }) => ({
        filename: filename ?? 'part',
        contentType,
        size,
        content,
      })),
      raw,
    }
    this.#mails.unshift(mail)
    this.#mails.length = Math.min(this.#mails.length, MOST_KEPT)
    return mail
  }

  list() {
    return this.#mails
  }

  find(id) {
    return this.#mails.find((mail) => mail.id === id) ?? null
  }
}
