/** Sentences from stored numbers: why a date, and how far it can be trusted. */
import type { Who } from '../http/call.js'
import { type ExplainedForecast, howSure, whyDue } from '@tapewarden/scheduling'

export interface Explained {
  state: string
  governing: string | null
  reason: string | null
  basis: Readonly<Record<string, unknown>>
  earlyOn?: string | null
  likelyOn?: string | null
  lateOn?: string | null
  noLaterThan?: string | null
}

/** An occurrence has one day, its nominal one; a forecast has a range. */
function asForecast(facts: Explained): ExplainedForecast {
  const likelyOn = facts.likelyOn ?? null
  return {
    state: facts.state,
    earlyOn: facts.earlyOn === undefined ? likelyOn : facts.earlyOn,
    likelyOn,
    lateOn: facts.lateOn === undefined ? likelyOn : facts.lateOn,
    noLaterThan: facts.noLaterThan ?? null,
    governingTrigger: facts.governing,
    basis: facts.basis as ExplainedForecast['basis'],
    reason: facts.reason,
  }
}

export const whySentence = (facts: Explained, { units }: Who): string => whyDue(asForecast(facts), units)
export const trustSentence = (facts: Explained): string => howSure(asForecast(facts))
