import { expect, it } from '@jest/globals'
import { sayOrdersLeft } from './orders-left.js'

const NORTH = { id: 'n', name: 'Hall North' }
const SOUTH = { id: 's', name: 'Hall South' }
const person = (name: string, more: object = {}) => ({
  id: name,
  name,
  role: 'technician' as const,
  disabled: false,
  warehouseIds: ['n'],
  electricallyQualified: false,
  ...more,
})
const order = (warehouse: typeof NORTH, skill: 'technician' | 'electrical' = 'technician') => ({ warehouse, skill })

it('names for each warehouse and kind of order who could take over', () => {
  const people = [
    person('Ada'),
    person('Bo', { electricallyQualified: true }),
    person('Cy', { disabled: true }),
    person('Di', { warehouseIds: ['s'], role: 'manager' }),
    person('Ed', { warehouseIds: ['n', 's'] }),
  ]
  expect(sayOrdersLeft([order(SOUTH), order(NORTH), order(NORTH, 'electrical'), order(NORTH)], people, 'Ed')).toEqual([
    'Hall North: 2 orders; Ada or Bo could take over.',
    'Hall North: 1 electrical order; Bo could take over.',
    'Hall South: 1 order; nobody else who serves it may take over.',
  ])
  expect(
    sayOrdersLeft(
      [order(NORTH)],
      ['A', 'B', 'C', 'D', 'E', 'F'].map((name) => person(name)),
      'Ed',
    ),
  ).toEqual(['Hall North: 1 order; A, B, C, D or 2 more could take over.'])
  expect(sayOrdersLeft([], people, 'Ed')).toEqual([])
})
