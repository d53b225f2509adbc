/** What the registry says of weaknesses is judged: found, excepted, run out, or not asked at all. The answers have npm's documented form, version 2. */
import { describe, expect, it } from '@jest/globals'
import { spawnSync } from 'node:child_process'
import { chmodSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { delimiter, join } from 'node:path'

interface Exception {
  advisory?: string
  why?: string
  until?: string
}
const { judge } = (await import(join(import.meta.dirname, '../../tools/audit.mjs'))) as {
  judge: (report: unknown, exceptions: Exception[], today: string) => { code: number; lines: string[] }
}
const TODAY = '2026-11-26'
const WHY = 'Only its server part is touched, and we use the client alone.'

const advisory = (severity: string, id = 'GHSA-aaaa-bbbb-cccc') => ({
  source: 1_094_544,
  name: 'deep',
  dependency: 'deep',
  title: 'Reads past its end',
  url: `https://github.com/advisories/${id}`,
  severity,
  cwe: ['CWE-125'],
  cvss: { score: 7.5, vectorString: 'CVSS:3.1/AV:N/AC:L/PR:N/UI:N/S:U/C:N/I:N/A:H' },
  range: '<2.0.1',
})
const entry = (name: string, severity: string, via: unknown[]) => ({
  name,
  severity,
  isDirect: false,
  via,
  effects: [],
  range: '<2.0.1',
  nodes: [`node_modules/${name}`],
  fixAvailable: true,
})
const report = (...entries: ReturnType<typeof entry>[]) => ({
  auditReportVersion: 2,
  vulnerabilities: Object.fromEntries(entries.map((one) => [one.name, one])),
  metadata: {
    vulnerabilities: { info: 0, low: 0, moderate: 0, high: 0, critical: 0, total: entries.length },
    dependencies: { prod: 214, dev: 300, optional: 3, peer: 0, peerOptional: 0, total: 517 },
  },
})
const ASKED_IN_VAIN = {
  message: '405 Method Not Allowed',
  method: 'POST',
  uri: 'x',
  statusCode: 405,
  body: '',
  error: { summary: '', detail: '' },
}

describe('the audit of packages', () => {
  it('is clean where nothing was found, and says how much was looked at', () => {
    expect(judge(report(), [], TODAY)).toEqual({ code: 0, lines: ['Checked 214 packages: nothing high or critical, 0 of less weight.'] })
  })

  it.each(['high', 'critical'])('fails on %s, once for an advisory that several packages bring along', (severity) => {
    const { code, lines } = judge(
      report(entry('deep', severity, [advisory(severity)]), entry('upper', severity, ['deep']), entry('top', severity, ['upper'])),
      [],
      TODAY,
    )
    expect(code).toBe(1)
    expect(lines).toEqual([
      `${severity} GHSA-aaaa-bbbb-cccc in deep: Reads past its end`,
      'Checked 214 packages: 1 to act on, 0 of less weight.',
    ])
  })

  it.each(['info', 'low', 'moderate'])('counts %s and goes on', (severity) => {
    expect(judge(report(entry('deep', severity, [advisory(severity)])), [], TODAY)).toEqual({
      code: 0,
      lines: ['Checked 214 packages: nothing high or critical, 1 of less weight.'],
    })
  })

  it('takes an exception until its last day, and not a day longer', () => {
    const found = report(entry('deep', 'high', [advisory('high')]))
    const exception = { advisory: 'GHSA-aaaa-bbbb-cccc', why: WHY, until: TODAY }
    expect(judge(found, [exception], TODAY)).toMatchObject({
      code: 0,
      lines: [expect.stringContaining(`Excepted until ${TODAY}`), expect.anything()],
    })
    expect(judge(found, [exception], '2026-11-27')).toMatchObject({
      code: 1,
      lines: [expect.stringContaining('ran out'), expect.anything()],
    })
  })

  it('lets an exception cover its own advisory alone, and tells of one that is about nothing', () => {
    const found = report(entry('deep', 'high', [advisory('high'), advisory('high', 'GHSA-dddd-eeee-ffff')]))
    const { code, lines } = judge(found, [{ advisory: 'GHSA-aaaa-bbbb-cccc', why: WHY, until: '2026-12-31' }], TODAY)
    expect({ code, first: lines[0] }).toEqual({ code: 1, first: 'high GHSA-dddd-eeee-ffff in deep: Reads past its end' })
    expect(judge(report(), [{ advisory: 'GHSA-aaaa-bbbb-cccc', why: WHY, until: '2026-12-31' }], TODAY)).toMatchObject({
      code: 0,
      lines: [expect.stringContaining('about nothing any more'), expect.anything()],
    })
  })

  it.each([
    ['without a reason', { advisory: 'GHSA-aaaa-bbbb-cccc', until: '2026-12-31' }, 'does not say why'],
    ['without an end', { advisory: 'GHSA-aaaa-bbbb-cccc', why: WHY }, 'does not say until when'],
    ['for good', { advisory: 'GHSA-aaaa-bbbb-cccc', why: WHY, until: '2036-12-31' }, 'longer than 180 days'],
  ])('refuses an exception %s', (_what, exception, said) => {
    expect(judge(report(), [exception], TODAY)).toMatchObject({
      code: 1,
      lines: [expect.stringContaining(said), expect.anything(), expect.anything()],
    })
  })

  it('counts a package that is named without any advisory', () => {
    expect(judge(report(entry('odd', 'critical', ['gone'])), [], TODAY)).toMatchObject({
      code: 1,
      lines: ['critical package odd in odd: named without an advisory', expect.anything()],
    })
  })

  it.each([
    ['a refusal', ASKED_IN_VAIN, 'the registry answered 405'],
    ['no network', { error: { code: 'ENOTFOUND', summary: '', detail: '' } }, 'ENOTFOUND'],
    ['no answer', null, 'no answer that can be read'],
    ['a form of another version', { auditReportVersion: 3, vulnerabilities: {} }, 'no answer that can be read'],
  ])('is neither clean nor a finding after %s', (_what, answer, said) => {
    const { code, lines } = judge(answer, [], TODAY)
    expect({ code, lines: lines.length }).toEqual({ code: 3, lines: 1 })
    expect(lines[0]).toMatch(/^NOT CHECKED/)
    expect(lines[0]).toContain(said)
  })
})

describe('npm run audit', () => {
  /** With an npm of our own in front, that says this. */
  const run = (answer: unknown): { status: number | null; stdout: string; stderr: string } => {
    const folder = mkdtempSync(join(tmpdir(), 'audit-'))
    try {
      writeFileSync(join(folder, 'answer.json'), JSON.stringify(answer))
      writeFileSync(
        join(folder, 'npm'),
        `#!/bin/sh\n[ "$*" = "audit --omit=dev --package-lock-only --json" ] || exit 9\ncat "${folder}/answer.json"\nexit 1\n`,
      )
      chmodSync(join(folder, 'npm'), 0o755)
      return spawnSync(process.execPath, ['tools/audit.mjs'], {
        encoding: 'utf8',
        env: { PATH: `${folder}${delimiter}${process.env.PATH}` },
      })
    } finally {
      rmSync(folder, { recursive: true, force: true })
    }
  }
  it('ends with what was judged', () => {
    expect(run(report())).toMatchObject({ status: 0, stderr: '' })
    expect(run(report(entry('deep', 'high', [advisory('high')])))).toMatchObject({ status: 1, stdout: '' })
    expect(run(ASKED_IN_VAIN)).toMatchObject({ status: 3, stdout: '' })
  })

  it('has a list of exceptions that is in order', () => {
    const exceptions = JSON.parse(readFileSync('tools/audit-exceptions.json', 'utf8')) as Exception[]
    const { lines } = judge(report(), exceptions, new Date().toISOString().slice(0, 10))
    expect(lines.filter((line) => /does not say|longer than/.test(line))).toEqual([])
  })
})
