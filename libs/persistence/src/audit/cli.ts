/**
 * Verifies the audit chain of every organisation. DATABASE_URL: the application's address; --json; --anchors FILE: links
 * written down by earlier runs, held against the chain and added to.
 */
import { appendFileSync, existsSync, readFileSync } from 'node:fs'
import { parseArgs } from 'node:util'
import { Database } from '../database.js'
import { type Anchor, type AuditReport, verifyAudit } from './verify.js'

interface AnchorLine extends Anchor {
  organisationId: string
  at: string
}

function readAnchors(path: string | undefined): AnchorLine[] {
  if (path === undefined || !existsSync(path)) return []
  const lines = readFileSync(path, 'utf8').split('\n')
  return lines.filter(Boolean).map((line) => JSON.parse(line) as AnchorLine)
}

function keepAnchors(path: string | undefined, reports: readonly AuditReport[], at: Date): void {
  const lines = reports.flatMap(({ organisationId, head, faults }) =>
    head && faults.length === 0 ? [`${JSON.stringify({ organisationId, ...head, at: at.toISOString() })}\n`] : [],
  )
  if (path !== undefined && lines.length > 0) appendFileSync(path, lines.join(''), { mode: 0o600 })
}

function say({ organisationId, entries, redacted, faults }: AuditReport): void {
  const gone = redacted > 0 ? `, ${redacted} of them anonymised` : ''
  console.log(`${organisationId}: ${entries} entries${gone}; ${faults.length === 0 ? 'the chain is whole' : `${faults.length} FAULTS`}`)
  for (const { sequence, entryId, why } of faults.slice(0, 100)) console.log(`  ${sequence ?? '-'}  ${entryId ?? '-'}  ${why}`)
}

async function run(): Promise<boolean> {
  const { values } = parseArgs({ options: { json: { type: 'boolean' }, anchors: { type: 'string' } } })
  const url = process.env.DATABASE_URL
  if (!url) throw new Error('DATABASE_URL is missing: the address of the application’s role.')
  const database = await Database.open({ url, applicationName: 'tapewarden audit-verify', most: 2 })
  try {
    const anchors = readAnchors(values.anchors)
    const reports: AuditReport[] = []
    for (const id of await database.organisations())
      reports.push(
        await database.withOrganisationSql(id, (scope) =>
          verifyAudit(
            scope,
            anchors.filter(({ organisationId }) => organisationId === id),
          ),
        ),
      )
    const missing = [...new Set(anchors.map(({ organisationId }) => organisationId))].filter(
      (id) => !reports.some(({ organisationId }) => organisationId === id),
    )
    for (const organisationId of missing)
      reports.push({
        organisationId,
        entries: 0,
        redacted: 0,
        faults: [{ sequence: null, entryId: null, why: 'the organisation was written down earlier and is gone' }],
        head: null,
      })
    keepAnchors(values.anchors, reports, await database.askTime())
    if (values.json) console.log(JSON.stringify(reports, null, 2))
    else for (const report of reports) say(report)
    return reports.every(({ faults }) => faults.length === 0)
  } finally {
    await database.close()
  }
}

run().then(
  (whole) => process.exit(whole ? 0 : 1),
  (error: unknown) => {
    console.error(`The audit could not be verified: ${(error as Error).message}`)
    process.exit(2)
  },
)
