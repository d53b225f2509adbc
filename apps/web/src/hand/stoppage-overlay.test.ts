import { describe, expect, it } from '@jest/globals'
import type { KeptEntry } from './outbox.js'
import { closingPath, inHandOf, layStoppagesOver, STOPPAGES } from './stoppage-overlay.js'

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

describe('a machine that an order has opened', () => {
  const order = { id: 'order', state: 'under_way' }
  const machine = { openStoppage: { id: 'known', workOrderId: 'order' }, openWorkOrders: [{ id: 'other', state: 'under_way' }, order] }

  it('is handed back by that order, also while it waits', () => {
    expect(inHandOf('known', machine)).toBe(order)
    const waiting = { ...order, state: 'waiting' }
    expect(inHandOf('known', { ...machine, openWorkOrders: [waiting] })).toBe(waiting)
  })

  it('is in nobody’s hand once the order was given back, and neither is what was reported on this phone alone', () => {
    expect(inHandOf('known', { ...machine, openWorkOrders: [{ ...order, state: 'returned' }] })).toBeNull()
    expect(inHandOf('told', machine)).toBeNull()
    expect(inHandOf('known', { ...machine, openStoppage: { id: 'known', workOrderId: null } })).toBeNull()
    // Kept by a phone before it knew of orders.
    expect(inHandOf('known', { ...machine, openStoppage: { id: 'known' } })).toBeNull()
  })
})
