/** The product's own service plans: one for electric types, one for hand-driven ones. A user's own procedure replaces them. */
import type { PlanTaskDefinition, PlanTypeFacts } from './definition.js'
import {
  checkPressurePlate,
  checkReturnMovement,
  inspectBlade,
  inspectFeedWheel,
  replaceBlade,
  setMoistenerHeight,
} from './blade-feed-and-plates.js'
import {
  checkChain,
  checkInterlock,
  degreaseFeedClutch,
  electricalCheck,
  measureMotorBrushes,
  replaceMotorBrushes,
} from './motor-and-electrics.js'
import { cleanHeaterAndPlates, lookAtCordAndCovers, moistenerBrushes, oilBladeFelt, rinseTank } from './small-care.js'

const smallCare = (facts: PlanTypeFacts): PlanTaskDefinition[] => [
  oilBladeFelt(facts),
  cleanHeaterAndPlates(facts),
  moistenerBrushes(facts),
  rinseTank(facts),
  lookAtCordAndCovers(facts),
]

function electricPlan(facts: PlanTypeFacts): PlanTaskDefinition[] {
  return [
    ...smallCare(facts),
    setMoistenerHeight(facts),
    measureMotorBrushes(facts),
    replaceMotorBrushes(facts),
    inspectBlade(facts),
    replaceBlade(facts),
    inspectFeedWheel(facts),
    checkChain(facts),
    degreaseFeedClutch(facts),
    checkPressurePlate(facts),
    checkInterlock(facts),
    electricalCheck(facts),
  ]
}

/** Without motor, heater and electrical tasks, whatever else the type claims. */
function handPlan(facts: PlanTypeFacts): PlanTaskDefinition[] {
  const byHand: PlanTypeFacts = { ...facts, supply: 'none', heater: false }
  return [
    ...smallCare(byHand),
    setMoistenerHeight(byHand),
    inspectBlade(byHand),
    replaceBlade(byHand),
    inspectFeedWheel(byHand),
    checkPressurePlate(byHand),
    checkReturnMovement(byHand),
  ]
}

/** @returns tasks in the order in which a sheet lists them; keys are unique */
export function defaultPlanFor(facts: PlanTypeFacts): PlanTaskDefinition[] {
  return facts.drive === 'electric' ? electricPlan(facts) : handPlan(facts)
}

/** Printed and hung at the station; no reminder asks for it. Common practice, no source. */
export const STATION_CARD: readonly string[] = [
  'End of shift: empty and rinse the tank. Fresh water tomorrow.',
  'Before a closed weekend, storage or frost: empty, dry, brushes out.',
  'Nothing in the water unless tape supplier and machine maker allow it.',
  'Tape: wrapped, off the floor, a day in the room before use.',
  'Never reach in, not even when it stands still. A jam: leave it switched off and report it.',
]
