/**
 * Cautions of a job sheet, chosen by what the machine is and how far the work reaches. Core lines stand on every sheet
 * that they concern; a plan may add its own after them and can take none away. Common practice, no source.
 */
import { CAUTION_ACKNOWLEDGEMENTS, type Reach } from '@tapewarden/shared/vocabulary'

export interface CautionFacts {
  supply: 'cord_and_plug' | 'wired_in' | 'none'
  heater: boolean
  reach: Reach
  usesSolvent: boolean
  /** Lines of the plan's own, put after the core lines. */
  own?: readonly string[]
}
export interface Caution {
  key: string
  text: string
  core: boolean
}

interface Line {
  key: string
  text: string
  /** Left out: on every sheet. */
  when?: (facts: CautionFacts) => boolean
}

const electric = ({ supply }: CautionFacts): boolean => supply !== 'none'
const opened = ({ reach }: CautionFacts): boolean => reach !== 'outside'

/** In the order in which they are read. */
const CORE_LINES: readonly Line[] = [
  {
    key: 'what_comes_first',
    text: "Your site's rules, the maker's instructions and local law come first. Where this sheet differs, follow the stricter and ask.",
  },
  {
    key: 'unplug',
    when: (facts) => facts.supply === 'cord_and_plug',
    text: 'Unplug, and keep the plug in your control, before any cover comes off: live parts inside. Switches, keys and interlocks do not isolate.',
  },
  {
    key: 'wired_in',
    when: (facts) => facts.supply === 'wired_in',
    text: 'Wired in: before any cover comes off it is locked and tagged, and tested dead, by a qualified person. Switches, keys and interlocks do not isolate.',
  },
  {
    key: 'ask_again',
    when: (facts) => electric(facts) && opened(facts),
    text: 'On each pause, handover or second person, ask again: who holds the plug or the lock now?',
  },
  {
    key: 'water',
    when: (facts) => facts.supply === 'cord_and_plug',
    text: 'Water: dry hands; unplug first, then lift out the tank. If water ran into or under the machine, or cord, plug or clamp is damaged: do not touch the machine or a wet plug; have the supply switched off upstream; tag it. It is not used until a qualified person has checked it.',
  },
  {
    key: 'water_wired_in',
    when: (facts) => facts.supply === 'wired_in',
    text: 'Water: dry hands; supply off at the isolator first, then lift out the tank. If water ran into or under the machine, or a cable or its clamp is damaged: do not touch the machine; have the supply switched off upstream; tag it. It is not used until a qualified person has checked it.',
  },
  {
    key: 'blade',
    text: 'The blade cuts also when it stands still. Never reach in, not even at a jam. Where it is laid bare: cut-resistant gloves, sheath on, count the pieces.',
  },
  {
    key: 'heater',
    when: (facts) => facts.heater,
    text: 'The heater burns. Work on it only without power and cold, not just switched off.',
  },
  {
    key: 'solvent',
    when: (facts) => facts.usesSolvent,
    text: 'Solvent burns, and the motor makes sparks. At the bench, with a damp cloth, never sprayed or poured. Cover off until no smell is left, then covers on, only then the power. Never mix descaler and bleach.',
  },
  {
    key: 'move_by_hand',
    when: opened,
    text: 'With covers off, move parts only by hand and without power. What needs power with a cover off goes to the bench and a qualified person. Never hold, tape or wedge an interlock.',
  },
  {
    key: 'covers_before_power',
    when: (facts) => electric(facts) && opened(facts),
    text: 'Covers go back on before the plug goes in or the lock comes off.',
  },
  { key: 'open_nothing', when: (facts) => !opened(facts), text: 'This is outside work: open no cover, reach into nothing.' },
  { key: 'beyond_the_sheet', text: 'Work beyond this sheet goes to the bench or to a qualified person.' },
]

/** @returns core lines first, in their order, then the plan's own; no line twice */
export function cautionsFor(facts: CautionFacts): Caution[] {
  const core = CORE_LINES.filter(({ when }) => when === undefined || when(facts)).map(({ key, text }) => ({ key, text, core: true }))
  const known = new Set(core.map(({ text }) => text))
  const own = [...new Set(facts.own ?? [])].filter((text) => text.trim() !== '' && !known.has(text))
  return [...core, ...own.map((text, index) => ({ key: `own_${index + 1}`, text, core: false }))]
}

/** What is stated before the first step; it names what the machine has: a plug, an isolator or a lever. */
export function acknowledgementFor({ supply, reach }: Pick<CautionFacts, 'supply' | 'reach'>): string {
  if (supply === 'none') return CAUTION_ACKNOWLEDGEMENTS.lever
  if (supply === 'cord_and_plug') return CAUTION_ACKNOWLEDGEMENTS.plug
  return reach === 'outside' ? CAUTION_ACKNOWLEDGEMENTS.isolator : CAUTION_ACKNOWLEDGEMENTS.locked
}

/** The one caution that stands on each line of a round of small outside care. */
export function roundLineCaution({ supply, heater }: Pick<CautionFacts, 'supply' | 'heater'>): string {
  const power =
    supply === 'cord_and_plug'
      ? 'Unplug first and keep the plug with you; dry hands.'
      : supply === 'wired_in'
        ? 'Wired in: switched off at its isolator first; dry hands; if you cannot, leave it and say so.'
        : 'Lever at rest.'
  return `${power} Open nothing, reach into nothing; the blade cuts also when still.${heater ? ' The heater must be cold.' : ''}`
}
