// `npm run audit`: asks the package registry for known weaknesses of what is shipped. Three outcomes, told apart:
// 0 looked and found nothing that counts, 1 high or critical findings (or an exception that has run out), 3 not looked, because the
// registry could not be asked. What may wait stands in tools/audit-exceptions.json: advisory, why, and until when.
import { spawnSync } from 'node:child_process'
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { root } from './lib.mjs'

export const CLEAN = 0
export const FINDINGS = 1
export const NOT_CHECKED = 3
const COUNTS = new Set(['high', 'critical'])
/** An exception is a promise to look again. */
const LONGEST_DAYS = 180
const DAY_MS = 86_400_000

/** The advisory's own id, as people write it: GHSA-… from its address, else the registry's number. */
const idOf = ({ url = '', source }) => /GHSA-[\w-]+/.exec(url)?.[0] ?? String(source)

/** @returns one line for each entry that is no honest exception */
function badExceptions(exceptions, today) {
  return exceptions.flatMap(({ advisory, why, until }) => {
    const days = (Date.parse(until) - Date.parse(today)) / DAY_MS
    if (!advisory || !(why?.trim().length >= 20)) return [`The exception ${advisory ?? 'without an advisory'} does not say why.`]
    if (!/^\d{4}-\d\d-\d\d$/.test(until ?? '') || Number.isNaN(days)) return [`The exception ${advisory} does not say until when.`]
    return days > LONGEST_DAYS ? [`The exception ${advisory} lasts longer than ${LONGEST_DAYS} days.`] : []
  })
}

/** Each advisory once, with the packages that it is about. A package may be named through another one; one that leads nowhere counts itself. */
function advisoriesOf(vulnerabilities) {
  const found = new Map()
  const add = (id, advisory, name) => {
    const known = found.get(id) ?? { id, severity: advisory.severity, title: advisory.title ?? '', packages: new Set() }
    known.packages.add(name)
    found.set(id, known)
  }
  for (const [name, entry] of Object.entries(vulnerabilities)) {
    const via = Array.isArray(entry.via) ? entry.via : []
    for (const one of via) if (typeof one === 'object' && one !== null) add(idOf(one), one, one.name ?? name)
    const leadsOn = via.some((one) => typeof one === 'object' || vulnerabilities[one] !== undefined)
    if (!leadsOn) add(`package ${name}`, { severity: entry.severity, title: 'named without an advisory' }, name)
  }
  return [...found.values()]
}

/**
 * @param report what `npm audit --json` said, parsed; anything that is no report of version 2 counts as not looked
 * @param today 'YYYY-MM-DD'
 * @returns {code, lines}: what to say, most important first
 */
export function judge(report, exceptions, today) {
  if (report?.auditReportVersion !== 2 || typeof report.vulnerabilities !== 'object' || report.vulnerabilities === null) {
    const why = report?.statusCode
      ? `the registry answered ${report.statusCode}`
      : (report?.error?.code ?? 'there was no answer that can be read')
    return { code: NOT_CHECKED, lines: [`NOT CHECKED for known weaknesses: ${why}. This is no clean result.`] }
  }
  const advisories = advisoriesOf(report.vulnerabilities)
  const excepted = new Map(exceptions.map((one) => [one.advisory, one]))
  const bad = badExceptions(exceptions, today)
  const lines = []
  for (const { id, severity, title, packages } of advisories) {
    if (!COUNTS.has(severity)) continue
    const exception = excepted.get(id)
    const what = `${severity} ${id} in ${[...packages].sort().join(', ')}: ${title}`
    if (!exception) bad.push(what)
    else if (exception.until < today) bad.push(`${what} (its exception ran out on ${exception.until})`)
    else lines.push(`Excepted until ${exception.until}: ${what}. ${exception.why}`)
  }
  const known = new Set(advisories.map(({ id }) => id))
  for (const { advisory } of exceptions)
    if (!known.has(advisory)) lines.push(`The exception ${advisory} is about nothing any more: take it out.`)
  const lesser = advisories.filter(({ severity }) => !COUNTS.has(severity)).length
  const packages = report.metadata?.dependencies?.prod
  lines.push(
    `Checked${packages ? ` ${packages} packages` : ''}: ${bad.length === 0 ? 'nothing high or critical' : `${bad.length} to act on`}, ${lesser} of less weight.`,
  )
  return { code: bad.length === 0 ? CLEAN : FINDINGS, lines: [...bad, ...lines] }
}

/** @returns null where npm did not say anything that can be read */
function ask() {
  const { stdout } = spawnSync('npm', ['audit', '--omit=dev', '--package-lock-only', '--json'], {
    cwd: root,
    encoding: 'utf8',
    timeout: 120_000,
    maxBuffer: 64 * 1024 * 1024,
  })
  try {
    return JSON.parse(stdout)
  } catch {
    return null
  }
}

if (process.argv[1] === import.meta.filename) {
  const exceptions = JSON.parse(readFileSync(join(root, 'tools/audit-exceptions.json'), 'utf8'))
  const { code, lines } = judge(ask(), exceptions, new Date().toISOString().slice(0, 10))
  for (const line of lines) (code === CLEAN ? console.log : console.error)(line)
  process.exit(code)
}
