/** P10 of speed.md: a Weibull fit of 1 000 parts, half of them still good, against R's survreg() and survreg.fit. */
import { spawnSync } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fitWeibull, type WeibullFit } from '@tapewarden/reliability'
import { type BenchResult, summarise } from './result.js'

const PARTS = 1000
const REPETITIONS = 7
const FITS = 2000

interface Sample {
  time: Float64Array
  failed: Uint8Array
}

/** Park & Miller's minimal standard generator: the same sample every time. */
function makeSample(): Sample {
  let state = 20_261_125
  const uniform = () => (state = (state * 48_271) % 2_147_483_647) / 2_147_483_647
  const time = new Float64Array(PARTS)
  const failed = new Uint8Array(PARTS)
  for (let part = 0; part < PARTS; part++) {
    const life = 1000 * (-Math.log(uniform())) ** (1 / 2.5)
    const seen = 1700 * uniform()
    time[part] = Math.min(life, seen)
    failed[part] = life < seen ? 1 : 0
  }
  return { time, failed }
}

function fit(sample: Sample): WeibullFit {
  const found = fitWeibull(sample)
  if (!found.finite) throw new Error(`no fit: ${found.reason}`)
  return found
}

function ours(sample: Sample): number {
  const began = performance.now()
  for (let run = 0; run < FITS; run++) fit(sample)
  return ((performance.now() - began) / FITS) * 1000
}

/** One pass of the likelihood over the data: what no fit can do without. */
function onePass({ time, failed }: Sample): number {
  const began = performance.now()
  let sum = 0
  for (let run = 0; run < FITS; run++)
    for (let part = 0; part < PARTS; part++) {
      const log = Math.log(time[part] as number)
      sum += (failed[part] as number) * log - Math.exp(2.5 * (log - 6.9))
    }
  if (!Number.isFinite(sum)) throw new Error('the floor came to nothing')
  return ((performance.now() - began) / FITS) * 1000
}

const R_PROGRAM = `
suppressMessages(library(survival))
data <- read.csv(commandArgs(TRUE)[1]); t <- data$time; d <- data$failed
whole <- function() survreg(Surv(t, d) ~ 1, dist = 'weibull')
x <- matrix(1, length(t), 1); y <- cbind(log(t), d); dist <- survreg.distributions$extreme; control <- survreg.control()
bare <- function() survreg.fit(x, y, NULL, NULL, NULL, control, dist, scale = 0, nstrat = 1, strata = 0, parms = NULL)
per <- function(f, n) { invisible(f()); start <- proc.time()[['elapsed']]; for (i in 1:n) f(); (proc.time()[['elapsed']] - start) / n * 1e6 }
tight <- survreg(Surv(t, d) ~ 1, dist = 'weibull', control = survreg.control(rel.tolerance = 1e-13, maxiter = 100))
cat(sprintf('{"whole":%.3f,"bare":%.3f,"shape":%.15g,"scale":%.15g}', per(whole, 150), per(bare, 400), 1 / tight$scale, exp(coef(tight)[[1]])))
`

interface FromR {
  whole: number
  bare: number
  shape: number
  scale: number
}

function askR(folder: string): FromR | null {
  const done = spawnSync('Rscript', [join(folder, 'fit.R'), join(folder, 'sample.csv')], { encoding: 'utf8' })
  return done.status === 0 ? (JSON.parse(done.stdout) as FromR) : null
}

function againstR(sample: Sample, folder: string): BenchResult[] | null {
  const first = askR(folder)
  if (!first) return null
  const { shape, scale } = fit(sample)
  const gap = Math.max(Math.abs(shape / first.shape - 1), Math.abs(scale / first.scale - 1))
  if (!(gap < 1e-8)) throw new Error(`the fit differs from survreg by ${gap}`)
  const rounds = Array.from({ length: REPETITIONS }, () => ({ own: ours(sample), r: askR(folder) as FromR }))
  const micros = (values: number[]) => (values.sort((a, b) => a - b)[Math.floor(values.length / 2)] as number).toFixed(0)
  const note = `ours ${micros(rounds.map(({ own }) => own))} µs, survreg() ${micros(rounds.map(({ r }) => r.whole))} µs, survreg.fit ${micros(rounds.map(({ r }) => r.bare))} µs; both agree to ${gap.toExponential(1)}`
  return [
    summarise(
      'Weibull fit of 1000 parts over survreg()',
      rounds.map(({ own, r }) => own / r.whole),
      1 / 20,
      note,
    ),
    summarise(
      'Weibull fit of 1000 parts over survreg.fit',
      rounds.map(({ own, r }) => own / r.bare),
      1 / 6,
      note,
    ),
  ]
}

export async function run(): Promise<BenchResult[]> {
  const sample = makeSample()
  ours(sample)
  onePass(sample)
  const ratios = Array.from({ length: REPETITIONS }, () => ours(sample) / onePass(sample))
  const folder = mkdtempSync(join(tmpdir(), 'weibull-bench-'))
  try {
    const rows = Array.from(sample.time, (age, part) => `${age},${sample.failed[part]}`)
    writeFileSync(join(folder, 'sample.csv'), `time,failed\n${rows.join('\n')}\n`)
    writeFileSync(join(folder, 'fit.R'), R_PROGRAM)
    const compared = againstR(sample, folder)
    const note = compared
      ? 'floor: a log, an exponential and a sum a part'
      : 'R with its survival package is not here; floor: a log, an exponential and a sum a part'
    return [...(compared ?? []), summarise('Weibull fit of 1000 parts over one pass', ratios, null, note)]
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}
