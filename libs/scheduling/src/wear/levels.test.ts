import { describe, expect, it } from '@jest/globals'
import { normalCdf } from '@tapewarden/reliability'
import type { MachineTypeFacts } from '../model.js'
import { fitWear, stripsUntilBelow } from './brushes.js'
import { hartNormalCdf, stripsAtLevels } from './levels.js'

const facts = { brushNewMm: 16, brushPlanLimitMm: 9.5, brushNeverBelowMm: 6.4, stripsFromNewToPlanLimit: 1_000_000 } as MachineTypeFacts
const fleet = { logMean: Math.log(6.5e-6), logSd: 0.45, sets: 0 }
const length = (lengthMm: number, usedStrips: number) => ({ on: 0, lengthMm, usedStrips, stripsTotal: usedStrips })
const sets = [
  { name: 'never measured', lengths: [], used: 200_000 },
  { name: 'measured once', lengths: [length(14.9, 150_000)], used: 200_000 },
  { name: 'measured three times', lengths: [length(14.9, 150_000), length(13.8, 300_000), length(12.1, 560_000)], used: 600_000 },
  { name: 'nearly worn', lengths: [length(11, 600_000), length(9.8, 780_000)], used: 800_000 },
]

describe('levels of wear', () => {
  it('the normal distribution agrees with that of the mathematics library to 1e-13', () => {
    for (let z = -8; z <= 8; z += 0.173) expect(Math.abs(hartNormalCdf(z) - normalCdf(z))).toBeLessThan(1e-13)
  })

  it('agree with a search for each level to a hundredth of their spread', () => {
    const levels = [0.01, 0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.98]
    for (const { name, lengths, used } of sets)
      for (const limit of [facts.brushPlanLimitMm, facts.brushNeverBelowMm]) {
        const posterior = fitWear({ lengths }, used, facts, fleet)
        if (!posterior) throw new Error(`no posterior for a set ${name}`)
        const fast = stripsAtLevels(posterior, limit, levels)
        const slow = levels.map((level) => stripsUntilBelow(posterior, limit, level))
        const spread = (slow.at(-1) as number) - (slow[0] as number)
        fast.forEach((strips, index) => expect(Math.abs(strips - (slow[index] as number))).toBeLessThan(0.01 * spread + 1))
        expect([...fast].sort((a, b) => a - b)).toEqual(fast)
      }
  })
})
