/** What only electric types have: motor brushes, chain, feed clutch, interlock, mains. Common practice and assumptions, no source. */
import {
  ask,
  byFinding,
  choose,
  coverOn,
  everyMonths,
  measure,
  type PlanTaskDefinition,
  type PlanTypeFacts,
  powerOff,
  task,
  tick,
} from './definition.js'

function brushMeasurement(key: string, name: string): PlanTaskDefinition['measurements'][number] {
  return {
    key,
    name,
    unit: 'mm',
    required: true,
    plausibleFrom: 0,
    plausibleTo: 60,
    planLimit: 'type',
    neverBelow: 'type',
    opensTaskKey: 'replace_motor_brushes',
  }
}

export const measureMotorBrushes = (facts: PlanTypeFacts): PlanTaskDefinition =>
  task({
    key: 'measure_motor_brushes',
    name: 'Measure both motor brushes',
    componentKey: 'motor_brush_set',
    minutes: 10,
    skill: 'technician',
    reach: 'cover_off',
    triggers: [everyMonths(6)],
    measurements: [
      brushMeasurement('upper_brush', 'Upper brush, shorter edge'),
      brushMeasurement('lower_brush', 'Lower brush, shorter edge'),
    ],
    steps: [
      ...powerOff(facts),
      tick(
        'caps_off',
        'Undo one plastic cap at a time and draw the brush out straight. Note which way round it sat.',
        facts.supply === 'wired_in' ? 'It is locked and tested dead.' : 'The plug is out and with you.',
      ),
      measure('upper_brush', 'Upper brush: measure the shorter edge.'),
      measure('lower_brush', 'Lower brush: measure the shorter edge.'),
      choose('faces', 'How do the faces look?', ['even and smooth', 'chipped', 'burnt', 'grooved']),
      ask('springs', 'Do both springs press firmly, and are both leads long enough and whole?'),
      choose('commutator', 'Turn the motor by hand: how are the bars of the commutator?', [
        'even',
        'burnt bars',
        'grooved',
        'cannot be seen',
      ]),
      tick('no_blowing', 'Take carbon dust up with a cloth or a suitable vacuum; never blow it out.'),
      tick(
        'refitted',
        "Refit the same way round: the hollow of each face lies on the commutator's curve. Caps only snug, they are plastic.",
      ),
      coverOn(),
    ],
  })

export const replaceMotorBrushes = (facts: PlanTypeFacts): PlanTaskDefinition =>
  task({
    key: 'replace_motor_brushes',
    name: 'Replace both motor brushes as a set',
    componentKey: 'motor_brush_set',
    minutes: 20,
    skill: 'technician',
    reach: 'cover_off',
    triggers: [{ kind: 'wear' }, byFinding],
    parts: [{ componentKey: 'motor_brush_set', quantity: 1 }],
    steps: [
      ...powerOff(facts),
      tick('right_set', 'Check that the set fits this machine type. Upper and lower are always replaced together.'),
      tick('old_out', 'Draw both old brushes out.'),
      choose('commutator', 'Turn the motor by hand: how are the bars of the commutator?', [
        'even',
        'burnt bars',
        'grooved',
        'cannot be seen',
      ]),
      tick('dust', 'Take carbon dust up; never blow it out.'),
      tick('new_in', "Slide the new brushes in with the hollow on the commutator's curve; they must move freely in their holders."),
      tick('caps', 'Caps only snug: they are plastic.'),
      coverOn(),
    ],
  })

export const checkChain = (facts: PlanTypeFacts): PlanTaskDefinition =>
  task({
    key: 'check_chain',
    name: 'Check chain tension and fastenings',
    componentKey: 'chain',
    minutes: 15,
    skill: 'technician',
    reach: 'inside',
    triggers: [everyMonths(6), byFinding],
    steps: [
      ...powerOff(facts),
      tick('slack_found', 'Move the chain by hand at the middle of its free run.', 'Fingers out of the sprockets.'),
      choose('slack', 'How was it?', ['right', 'slack', 'too tight', 'stiff links']),
      tick('taken_up', 'Slack is taken up by moving the motor on its bolts.'),
      tick('snug', 'Fastenings snug and no more: the frame is light sheet. Hand tools only.'),
      tick('turned', 'Turn through one whole stroke by hand: nothing binds.'),
      coverOn(),
    ],
  })

export const degreaseFeedClutch = (facts: PlanTypeFacts): PlanTaskDefinition =>
  task({
    key: 'degrease_feed_clutch',
    name: 'Degrease the feed clutch faces',
    componentKey: 'feed_clutch',
    minutes: 20,
    skill: 'technician',
    reach: 'inside',
    atTheBench: true,
    usesSolvent: true,
    triggers: [{ kind: 'function_check' }, byFinding],
    steps: [
      ...powerOff(facts),
      ask('roll_changed', 'Was the roll changed and the check repeated before the clutch was blamed?'),
      tick('wiped', 'Wipe both faces with a damp cloth until it stays clean.', 'Never spray or pour; no sparks, no flame, air moving.'),
      tick('clear_of_wheel', 'At rest the clutch must not touch the wheel.'),
      tick('engages', 'Moved by hand it engages when the blade is about half way up its stroke.', 'Hands clear of the blade.'),
      tick('no_smell', 'Leave the cover off until no smell is left; then covers on; only then the power.'),
      coverOn(),
    ],
  })

export const checkInterlock = (facts: PlanTypeFacts): PlanTaskDefinition =>
  task({
    key: 'check_interlock_and_return',
    name: 'Check interlock and return movement',
    componentKey: 'interlock',
    minutes: 10,
    skill: 'technician',
    reach: 'cover_off',
    safetyCheck: true,
    triggers: [everyMonths(6), byFinding],
    steps: [
      ...powerOff(facts),
      ask('resets', 'Does the interlock reset by itself?', 'Never hold, tape or wedge it.'),
      ask('arm_home', 'Does the spring bring the arm home every time? Only as much tension as that needs.', 'Moved by hand only.'),
      ask('passes_keys', 'Does the arm pass every length key, where there are any, without touching hard?'),
      coverOn(),
    ],
  })

export function electricalCheck({ supply }: PlanTypeFacts): PlanTaskDefinition {
  const wiredIn = supply === 'wired_in'
  return task({
    key: 'electrical_safety_check',
    name: 'Electrical safety check',
    minutes: 20,
    skill: 'electrical',
    reach: 'inside',
    safetyCheck: true,
    triggers: [everyMonths(12)],
    cautions: ['Interval and content follow your local rules; where they ask for more, they govern.'],
    steps: [
      tick('dead', wiredIn ? 'Locked, tagged and tested dead.' : 'Plug out and in your control.'),
      ask('leads', wiredIn ? 'Cable, gland and strain relief whole?' : 'Cord, plug and strain relief whole?'),
      ask('earth', 'Protective earth measured and within your local limit?'),
      ask('insulation', 'Insulation measured and within your local limit?'),
      ask('wiring', 'Inside: wires clear of moving parts, no chafing, no heat marks, protective caps in place?'),
      { key: 'instrument', text: 'Instrument and values measured.', answer: 'text' },
    ],
  })
}
