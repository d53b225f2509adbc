/** The words of the domain as closed lists; database checks, api and screens use the same ones. */
import { z } from 'zod'

export const roleSchema = z.enum(['administrator', 'manager', 'technician', 'instructed'])
export const unitsSchema = z.enum(['si', 'us'])
export const driveSchema = z.enum(['electric', 'hand'])
export const supplySchema = z.enum(['cord_and_plug', 'wired_in', 'none'])
export const counterKindSchema = z.enum(['none', 'strips', 'metres'])
export const machineStatusSchema = z.enum([
  'in_service',
  'on_the_shelf',
  'at_the_bench',
  'away_for_repair',
  'tagged_out',
  'not_found',
  'retired',
])
export const ownerSchema = z.enum(['own', 'lent', 'leased'])
export const mayOpenSchema = z.enum(['our_technicians', 'service_firm_only'])
export const tapeSchema = z.enum(['unknown', 'plain', 'reinforced'])
export const waterHardnessSchema = z.enum(['unknown', 'soft', 'medium', 'hard'])
export const peakBarsSchema = z.enum(['nothing', 'no_visits', 'short_care_only'])
export const ifStoppedSchema = z.enum(['stops', 'slows', 'goes_on'])
export const skillSchema = z.enum(['instructed', 'technician', 'electrical'])
export const reachSchema = z.enum(['outside', 'cover_off', 'inside'])
export const usageUnitSchema = z.enum(['strips', 'metres', 'motor_minutes'])
export const evidenceKindSchema = z.enum(['counter_reading', 'counter_replaced', 'strips_day', 'cartons_day', 'rolls', 'monthly_tap'])
export const evidenceStateSchema = z.enum(['counted', 'set_aside', 'dismissed', 'corrected'])
export const monthlyTapSchema = z.enum(['all_day', 'some_hours', 'seldom', 'dont_know'])
export const situationKindSchema = z.enum(['moved', 'brushes_replaced', 'jam_storm', 'new_tape', 'back_in_service', 'before_peak'])
export const removalReasonSchema = z.enum(['worn', 'broken', 'planned', 'moved', 'unknown'])
export const occurrenceStateSchema = z.enum(['open', 'done', 'skipped', 'superseded'])
export const occurrenceKindSchema = z.enum(['regular', 'monthly', 'first_look', 'finding', 'situation', 'wake_up', 'put_off'])
export const forecastStateSchema = z.enum(['dated', 'first_look', 'no_date', 'paused', 'cannot_be_computed'])
export const workOrderStateSchema = z.enum([
  'drafted',
  'issued',
  'accepted',
  'under_way',
  'waiting',
  'done',
  'looked_over',
  'returned',
  'cancelled',
])
export const waitingForSchema = z.enum(['part', 'access', 'second_person'])
export const roundReasonSchema = z.enum(['no_time', 'no_oil', 'machine_not_here', 'must_not_open'])
export const reminderStageSchema = z.enum([
  'coming_due',
  'due',
  'late',
  'passed_on_1',
  'passed_on_2',
  'passed_on_3',
  'past_hard_limit',
  'hard_limit_tomorrow',
  'safety_finding',
  'earlier_than_said',
  'first_look_missed',
  'month_list',
  'month_last_week',
])
/** What a digest says that a person may do without. Urgent mails and account mails are no such kinds. */
export const digestKindSchema = z.enum(['coming_due', 'due', 'late', 'passed_on', 'month_list', 'work_orders', 'parts'])
export const messageClassSchema = z.enum(['digest', 'urgent', 'account'])
export const messageStateSchema = z.enum(['pending', 'claimed', 'handing_over', 'sent', 'uncertain', 'failed', 'expired'])

/** Component types of the default plan; an organisation may add its own keys. */
export const COMPONENT_KEYS = [
  'motor_brush_set',
  'blade',
  'blade_felt',
  'moistener_brush_set',
  'feed_wheel',
  'pressure_roller',
  'heater',
  'chain',
  'feed_clutch',
  'return_spring',
  'length_keys',
  'interlock',
  'solenoid',
  'tape_sensor',
  'tank',
  'pressure_plate',
  'guide_plate',
  'cord_and_plug',
  'covers_and_guards',
  'control_board',
] as const

export const triggerSchema = z.discriminatedUnion('kind', [
  /** months: counted from the anchor's own date, clamped to the month's last day. mode nominal is rule 5. */
  z.object({
    kind: z.literal('calendar'),
    months: z.number().int().min(1).max(240).optional(),
    days: z.number().int().min(1).max(7300).optional(),
    mode: z.enum(['nominal', 'floating', 'anchored']).default('nominal'),
    anchoredOn: z.iso.date().optional(),
  }),
  z.object({ kind: z.literal('calendar_month') }),
  z.object({ kind: z.literal('usage'), unit: usageUnitSchema, amount: z.number().positive() }),
  /** Limits in mm; left out: those of the machine type. */
  z.object({ kind: z.literal('wear'), planLimitMm: z.number().positive().optional(), neverBelowMm: z.number().positive().optional() }),
  /** Makes the look due when the chance of failure since the last look reaches failedFraction (rule 16). */
  z.object({ kind: z.literal('life'), failedFraction: z.number().gt(0).lt(1).default(0.1) }),
  z.object({
    kind: z.literal('least_cost_age'),
    plannedCost: z.number().positive().optional(),
    failureCost: z.number().positive().optional(),
  }),
  z.object({ kind: z.literal('finding') }),
  z.object({ kind: z.literal('function_check') }),
  z.object({ kind: z.literal('situation'), situation: situationKindSchema }),
])
export type Trigger = z.infer<typeof triggerSchema>
export type TriggerKind = Trigger['kind']

export const stepSchema = z.object({
  key: z.string().regex(/^[a-z][a-z0-9_]{0,60}$/),
  text: z.string().min(1).max(1000),
  /** The caution that stands where the hand is about to go. */
  caution: z.string().max(500).optional(),
  answer: z.enum(['tick', 'yes_no', 'measurement', 'choice', 'text']).default('tick'),
  choices: z.array(z.string()).optional(),
  measurementKey: z.string().optional(),
})
export const planMeasurementSchema = z.object({
  key: z.string().regex(/^[a-z][a-z0-9_]{0,60}$/),
  name: z.string().min(1).max(200),
  unit: z.enum(['mm', 'count']).default('mm'),
  required: z.boolean().default(true),
  plausibleFrom: z.number().optional(),
  plausibleTo: z.number().optional(),
  /** Values come from the machine type where these say so. */
  planLimit: z.union([z.number(), z.literal('type')]).optional(),
  neverBelow: z.union([z.number(), z.literal('type')]).optional(),
  /** An instructive word for a finding that opens another task: its key. */
  opensTaskKey: z.string().optional(),
})
export const planPartSchema = z.object({ componentKey: z.string(), quantity: z.number().int().min(1) })

export type Role = z.infer<typeof roleSchema>
export type Units = z.infer<typeof unitsSchema>
export type MachineStatus = z.infer<typeof machineStatusSchema>
export type Reach = z.infer<typeof reachSchema>
export type Skill = z.infer<typeof skillSchema>
export type UsageUnit = z.infer<typeof usageUnitSchema>
export type EvidenceKind = z.infer<typeof evidenceKindSchema>
export type OccurrenceKind = z.infer<typeof occurrenceKindSchema>
export type OccurrenceState = z.infer<typeof occurrenceStateSchema>
export type ForecastState = z.infer<typeof forecastStateSchema>
export type ReminderStage = z.infer<typeof reminderStageSchema>
export type DigestKind = z.infer<typeof digestKindSchema>
export type PeakBars = z.infer<typeof peakBarsSchema>
export type SituationKind = z.infer<typeof situationKindSchema>
export type WorkOrderState = z.infer<typeof workOrderStateSchema>

/** What a technician states before the first step: never of a plug that the machine has not. */
export const CAUTION_ACKNOWLEDGEMENTS = {
  plug: 'I have read this. The plug is out and with me.',
  isolator: 'I have read this. It is switched off at its isolator.',
  locked: 'I have read this. It is locked and tagged at its isolator, and a qualified person has tested it dead.',
  lever: 'I have read this. The lever is at rest.',
} as const
