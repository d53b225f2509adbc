/** Small care by the calendar month, of both kinds of drive. Intervals: common practice and assumptions, no source. */
import {
  ask,
  choose,
  coverOn,
  everyMonth,
  everyStrips,
  type PlanTaskDefinition,
  type PlanTypeFacts,
  powerOff,
  task,
  tick,
} from './definition.js'

const LEADS = { cord_and_plug: 'cord, plug, ', wired_in: 'cable, ', none: '' } as const

export function oilBladeFelt(facts: PlanTypeFacts): PlanTaskDefinition {
  const covered = facts.feltBehindCover
  return task({
    key: 'oil_blade_felt',
    name: 'Oil the blade felt',
    componentKey: 'blade_felt',
    minutes: 5,
    skill: covered ? 'technician' : 'instructed',
    reach: covered ? 'cover_off' : 'outside',
    triggers: [everyMonth],
    steps: [
      ...powerOff(facts),
      ...(covered ? [tick('cover_off', 'Take off the cover over the felt.')] : []),
      choose('felt_found', 'Feel the felt with a swab, never with a finger: how was it?', ['dry', 'moist', 'missing or torn']),
      tick('few_drops', 'Only a dry felt gets oil: a few drops of the oil that the maker names.', 'The blade is right beside the felt.'),
      tick('wiped', 'Wipe away the rest. None on the tape path, the brushes or the clutch: too much makes tape slip and not stick.'),
      ...(covered ? [coverOn()] : []),
    ],
  })
}

export function cleanHeaterAndPlates(facts: PlanTypeFacts): PlanTaskDefinition {
  return task({
    key: 'clean_heater_and_plates',
    name: facts.heater ? 'Clean heater and plates' : 'Clean the plates',
    componentKey: facts.heater ? 'heater' : 'pressure_plate',
    minutes: 10,
    skill: 'instructed',
    reach: 'outside',
    triggers: [everyMonth],
    steps: [
      ...powerOff(facts),
      ...(facts.heater
        ? [tick('cold', "Wait until the heater is cold: no warmth from a hand's width away.", 'It burns long after it is off.')]
        : []),
      tick('scraped', 'Scrape off glue and paper with a plastic scraper.', 'Away from the blade, never towards it.'),
      tick('wiped', 'Wipe with a damp cloth; nothing drips into the machine.'),
      ...(facts.heater
        ? [
            tick(
              'heater_opening',
              'Where the heater can be set: about two thirds of its opening is enough, unless the maker says otherwise.',
            ),
          ]
        : []),
    ],
  })
}

export function moistenerBrushes(facts: PlanTypeFacts): PlanTaskDefinition {
  return task({
    key: 'look_at_moistener_brushes',
    name: 'Look at and wash the moistener brushes',
    componentKey: 'moistener_brush_set',
    minutes: 10,
    skill: 'instructed',
    reach: 'outside',
    triggers: [everyMonth, everyStrips(20_000)],
    steps: [
      ...powerOff(facts),
      tick('tank_out', 'Lift out the tank, then the brushes.'),
      choose('brushes_found', 'How were the bristles?', ['straight and clean', 'dirty, washed clean', 'splayed', 'caked hard']),
      tick(
        'washed',
        'Wash in warm water with a little mild dish soap and rinse. New ones are washed too: it takes production oil out and relaxes the bristles.',
      ),
      ask('replaced', 'Splayed or caked brushes are replaced. Was a new set put in?'),
      tick('back', 'Brushes and tank back, seated all the way.'),
    ],
  })
}

export function rinseTank(facts: PlanTypeFacts): PlanTaskDefinition {
  return task({
    key: 'rinse_and_descale_tank',
    name: 'Rinse and descale the tank',
    componentKey: 'tank',
    minutes: 10,
    skill: 'instructed',
    reach: 'outside',
    triggers: [everyMonth],
    steps: [
      ...powerOff(facts),
      tick('tank_out', 'Lift the tank out level and empty it away from the machine.'),
      tick('rinsed', 'Rinse it. With hard water, or where scale shows: descale it as the descaler says.', 'Never mix descaler and bleach.'),
      tick('rinsed_again', 'Rinse again until nothing of the descaler is left.'),
      ask('dry_below', 'Is it dry where the tank stands and under the machine?'),
      tick('filled', 'Fill with fresh water. Nothing else in it unless tape supplier and machine maker allow it.'),
    ],
  })
}

export function lookAtCordAndCovers(facts: PlanTypeFacts): PlanTaskDefinition {
  return task({
    key: 'look_at_cord_covers_guard',
    name: `Look at ${LEADS[facts.supply]}covers and blade guard`,
    minutes: 3,
    skill: 'instructed',
    reach: 'outside',
    safetyCheck: true,
    triggers: [everyMonth, { kind: 'situation', situation: 'moved' }, { kind: 'situation', situation: 'jam_storm' }],
    steps: [
      ...(facts.supply === 'cord_and_plug'
        ? [
            ask(
              'cord_whole',
              'Are cord, plug and clamp whole, dry and not pinched?',
              'Damaged or wet: do not touch it; have it switched off upstream.',
            ),
          ]
        : []),
      ...(facts.supply === 'wired_in'
        ? [ask('conduit_whole', 'Are cable, conduit and gland whole and dry, as far as can be seen?', 'Damaged or wet: do not touch it.')]
        : []),
      ask('covers_on', 'Are all covers on, whole, with all their screws?'),
      ask('guard_works', 'Is the blade guard there, whole, and does it fall back by itself?', 'Look, do not push a finger past it.'),
      ask('dry', 'Is it dry in front of and under the machine?'),
    ],
  })
}
