import { z } from 'zod'
import { survivalCurve, ageAtLevel, restrictedMean } from '../life/kaplan-meier.js'
import { prepareLife, type PreparedLife } from '../life/life-data.js'
import { fitPrepared, type WeibullFit } from '../life/weibull-fit.js'
import { fitScale } from '../life/weibull-fixed-shape.js'
import { scaleProfileLimits, shapeProfileLimits, waldLimits } from '../life/weibull-intervals.js'
import { weibullPosterior } from '../life/posterior-integrals.js'
import { ageAtFailedFraction, conditionalSurvival, meanLife, meanRemainingLife, remainingLife } from '../life/weibull.js'
import { defineCalculation } from './calculation.js'
import { finite, notNegative, openFraction, positive } from './fields.js'
import { lifeFields, toLifeData } from './life-fields.js'

const CONFIDENCE = 0.95

function describeFit(life: PreparedLife, fit: WeibullFit) {
  const { shape, scale, logCovariance } = fit
  const [logShapeError, logScaleError] = [Math.sqrt(logCovariance.shape), Math.sqrt(logCovariance.scale)]
  return {
    finite: true,
    n: fit.parts,
    failures: fit.failures,
    shape,
    scale,
    logLikelihood: fit.logLikelihood,
    shapeStandardError: shape * logShapeError,
    scaleStandardError: scale * logScaleError,
    logScaleStandardError: logScaleError,
    logShapeStandardError: logShapeError,
    shapeWald95: waldLimits(shape, logShapeError, CONFIDENCE),
    scaleWald95: waldLimits(scale, logScaleError, CONFIDENCE),
    shapeProfile95: shapeProfileLimits(life, fit, CONFIDENCE),
    scaleProfile95: scaleProfileLimits(life, fit, CONFIDENCE),
    ageAt10PercentFailed: ageAtFailedFraction(fit, 0.1),
    medianLife: ageAtFailedFraction(fit, 0.5),
    meanLife: meanLife(fit),
  }
}

const weibullFit = defineCalculation({
  name: 'weibull-fit',
  summary: 'Shape and scale of a life from failures and parts still good, with errors and limits',
  inputs: z.strictObject(lifeFields),
  compute(inputs) {
    const life = prepareLife(toLifeData(inputs))
    const fit = fitPrepared(life)
    return fit.finite ? describeFit(life, fit) : { finite: false, n: fit.parts, failures: fit.failures, reason: fit.reason }
  },
})

const fixedShape = defineCalculation({
  name: 'weibull-fixed-shape',
  summary: 'Scale of a life whose shape is known, with one-sided lower limits; works without a failure',
  inputs: z.strictObject({ ...lifeFields, shape: positive, confidences: z.array(openFraction) }),
  compute(inputs) {
    const { parts, ...found } = fitScale(toLifeData(inputs), inputs.shape, inputs.confidences)
    return { n: parts, ...found }
  },
})

const normalBelief = z.strictObject({ mean: finite, sd: positive })

const posterior = defineCalculation({
  name: 'weibull-posterior',
  summary: 'Shape and scale from data and a prior belief: mode, means, quantiles, evidence',
  inputs: z.strictObject({ ...lifeFields, logShapePrior: normalBelief, logScalePrior: normalBelief, quantiles: z.array(openFraction) }),
  compute(inputs) {
    const prior = { logShape: inputs.logShapePrior, logScale: inputs.logScalePrior }
    const { mode, ...rest } = weibullPosterior(toLifeData(inputs), prior, inputs.quantiles)
    return { modeLogShape: mode.logShape, modeLogScale: mode.logScale, laplaceCovarianceLog: mode.covariance, ...rest }
  },
})

const remaining = defineCalculation({
  name: 'weibull-remaining-life',
  summary: 'What is left of a part of a given age: chance to survive, mean and quantiles',
  inputs: z.strictObject({ shape: positive, scale: positive, age: notNegative, horizons: z.array(notNegative) }),
  compute({ shape, scale, age, horizons }) {
    const life = { shape, scale }
    return {
      survivalAtAge: conditionalSurvival(life, 0, age),
      meanRemaining: meanRemainingLife(life, age),
      medianRemaining: remainingLife(life, age, 0.5),
      remainingAt5PercentFailed: remainingLife(life, age, 0.05),
      remainingAt10PercentFailed: remainingLife(life, age, 0.1),
      remainingAt90PercentFailed: remainingLife(life, age, 0.9),
      conditionalSurvival: horizons.map((horizon) => conditionalSurvival(life, age, horizon)),
    }
  },
})

const kaplanMeier = defineCalculation({
  name: 'kaplan-meier',
  summary: 'Survival without a model, with Greenwood errors, three kinds of limits and the Nelson–Aalen hazard',
  inputs: z.strictObject(lifeFields),
  compute(inputs) {
    const curve = survivalCurve(toLifeData(inputs))
    const survivalAt = (level: number) => ageAtLevel(curve, level, (row) => row.survival)
    return {
      rows: curve.rows,
      median: survivalAt(0.5),
      medianLog95: [0, 1].map((side) => ageAtLevel(curve, 0.5, (row) => row.log95[side] ?? null)),
      quartiles: [0.75, 0.5, 0.25].map(survivalAt),
      restrictedMeanToLast: restrictedMean(curve),
    }
  },
})

export const weibullCalculations = [weibullFit, fixedShape, posterior, remaining, kaplanMeier]
