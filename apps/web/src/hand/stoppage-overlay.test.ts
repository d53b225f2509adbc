import { describe, expect, it } from '@jest/globals'
import type { KeptEntry } from './outbox.js'
import { closingPath, layStoppagesOver, STOPPAGES } from './stoppage-overlay.js'

const report = (id: string, machineId = 'm', more: Partial<KeptEntry> = {}): KeptEntry => ({
  id: `entry ${id}`,
  kind: 'post',
  path: STOPPAGES,
  body: { id, machineId },
  keptAt: '',
  ...more,
})
const closing = (id: string): KeptEntry => ({ id: `entry closing ${id}`, kind: 'post', path: closingPath(id), body: {}, keptAt: '' })
const runs = { id: 'm', openStoppage: null }
const stands = { id: 'm', openStoppage: { id: 'known' } }

describe('a machine that was said to stand still, on this phone alone', () => {
  it('stands still until it was said to work again', () => {
    expect(layStoppagesOver(runs, [])).toBeNull()
    expect(layStoppagesOver(runs, [report('told')])).toEqual({ id: 'told' })
    expect(layStoppagesOver(runs, [report('told'), closing('told')])).toBeNull()
    expect(layStoppagesOver(runs, [report('told'), closing('told'), report('again')])).toEqual({ id: 'again' })
    expect(layStoppagesOver(stands, [closing('known')])).toBeNull()
  })

  it('is not told of another machine', () => {
    expect(layStoppagesOver(runs, [report('told', 'other')])).toBeNull()
    expect(layStoppagesOver(stands, [report('told', 'other'), closing('told')])).toEqual({ id: 'known' })
  })

  it('stood still already: the report joins, and goes by the earlier id once the server has said so', () => {
    expect(layStoppagesOver(stands, [report('told')])).toEqual({ id: 'known' })
    expect(layStoppagesOver(runs, [report('told', 'm', { joined: 'packers' })])).toEqual({ id: 'packers' })
    expect(layStoppagesOver(runs, [report('told', 'm', { joined: 'packers' }), closing('told')])).toBeNull()
    expect(layStoppagesOver(runs, [report('told', 'm', { joined: 'packers' }), closing('packers')])).toBeNull()
  })
})
