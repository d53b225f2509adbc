/** Technicians' care that both kinds of drive need. Common practice and assumptions, no source. */
import {
  ask,
  byFinding,
  choose,
  coverOn,
  everyMonths,
  everyStrips,
  type PlanTaskDefinition,
  type PlanTypeFacts,
  powerOff,
  task,
  tick,
} from './definition.js'

const STILL = 'The blade cuts also when it stands still.'

export const setMoistenerHeight = (facts: PlanTypeFacts): PlanTaskDefinition =>
  task({
    key: 'set_moistener_brush_height',
    name: 'Set the moistener brush height',
    componentKey: 'moistener_brush_set',
    minutes: 15,
    skill: 'technician',
    reach: 'cover_off',
    triggers: [{ kind: 'situation', situation: 'brushes_replaced' }, everyMonths(6), byFinding],
    steps: [
      ...powerOff(facts),
      tick('tank_in', 'Put the tank in: height is judged with it in place, against the guide plate (the lower one, behind the brushes).'),
      choose('gap_found', 'How was the gap?', ['small and even', 'too large', 'brushes press', 'uneven']),
      tick('corrected', "Correct at the guide plate's front ears, never by bending the brush."),
      tick('even_gap', 'A small even gap over the whole width.'),
      coverOn(),
    ],
  })

export const inspectBlade = (facts: PlanTypeFacts): PlanTaskDefinition =>
  task({
    key: 'inspect_blade_and_cut',
    name: 'Inspect blade and cut',
    componentKey: 'blade',
    minutes: 15,
    skill: 'technician',
    reach: 'cover_off',
    triggers: [everyMonths(12), { kind: 'life', failedFraction: 0.1 }],
    steps: [
      ...powerOff(facts),
      choose('cut_edge', 'Look at ten cut strips: how are the edges?', ['clean', 'frayed', 'torn', 'not cut through']),
      choose('edge', 'Look along the blade without touching it: how is the edge?', ['even', 'nicked', 'rounded', 'cannot be seen']),
      ask('glue', 'Is glue on the blade? It is cleaned at the bench, not here.'),
      choose('tape', 'Which tape is cut here? Reinforced tape wears blades faster.', ['plain', 'reinforced', 'both']),
      ask('replace', 'Should the blade be replaced? Then write a finding with the days it can wait.'),
      coverOn(),
    ],
    cautions: [STILL],
  })

export function replaceBlade(facts: PlanTypeFacts): PlanTaskDefinition {
  return task({
    key: 'replace_blade',
    name: 'Replace the blade',
    componentKey: 'blade',
    minutes: 60,
    skill: 'technician',
    reach: 'inside',
    atTheBench: true,
    triggers: [byFinding, { kind: 'least_cost_age' }],
    parts: [{ componentKey: 'blade', quantity: 1 }],
    steps: [
      ...powerOff(facts),
      tick('right_blade', 'Check that the blade fits this machine type.', 'Gloves on, new blade in its sheath.'),
      tick(
        'rollers_off',
        facts.heater ? 'Heater and small rollers come off first.' : 'Small rollers come off first.',
        facts.heater ? 'Heater cold.' : STILL,
      ),
      tick('lock_nut', 'Loosen the lock nut at the end of the shaft before the shaft is drawn, or its end breaks.'),
      tick('old_out', 'Sheath the old blade and take it out.', STILL),
      tick('pieces', 'Count the pieces: all of the old blade is there. It goes to the sharps box.'),
      tick('new_in', 'New blade in, everything back, lock nut tight.'),
      tick('stroke', 'One whole stroke by hand: it moves freely and meets its counter edge.', 'Hands clear of the path of the blade.'),
      coverOn(),
    ],
  })
}

export const inspectFeedWheel = (facts: PlanTypeFacts): PlanTaskDefinition =>
  task({
    key: 'inspect_feed_wheel',
    name: 'Inspect feed wheel and pressure roller',
    componentKey: 'feed_wheel',
    minutes: 10,
    skill: 'technician',
    reach: 'cover_off',
    triggers: [everyMonths(12), everyStrips(500_000)],
    steps: [
      ...powerOff(facts),
      choose('knurl', 'How is the knurl of the feed wheel?', ['sharp and clean', 'filled with glue, cleaned', 'worn smooth']),
      choose('roller', 'How is the pressure roller?', ['round and even', 'flat spots', 'glazed', 'cracked']),
      ask('oil', 'Are wheel and roller free of oil?'),
      coverOn(),
    ],
  })

export const checkPressurePlate = (facts: PlanTypeFacts): PlanTaskDefinition =>
  task({
    key: 'check_pressure_plate',
    name: 'Check the pressure plate',
    componentKey: 'pressure_plate',
    minutes: 10,
    skill: 'technician',
    reach: 'cover_off',
    triggers: [everyMonths(12), byFinding],
    steps: [
      ...powerOff(facts),
      ask('flat', 'Is the pressure plate (the upper one) flat and unbent?'),
      ask('floats', 'Does it float on the tape, lifting freely?'),
      ask('gap', 'Is there a gap front and back, so that tape is not pinched?'),
      coverOn(),
    ],
  })

export function checkReturnMovement(facts: PlanTypeFacts): PlanTaskDefinition {
  return task({
    key: 'check_return_movement',
    name: 'Check lever and return movement',
    componentKey: 'return_spring',
    minutes: 10,
    skill: 'technician',
    reach: 'cover_off',
    triggers: [everyMonths(6), byFinding],
    steps: [
      ...powerOff(facts),
      ask('home', 'Does the spring bring the lever home every time? Only as much tension as that needs.', STILL),
      ask('free', 'Does it move freely over its whole way, and does the blade fall back behind its guard?'),
      tick('snug', 'Fastenings snug and no more: the frame is light sheet. Hand tools only.'),
      coverOn(),
    ],
  })
}
