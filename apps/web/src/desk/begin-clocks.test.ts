import { expect, it } from '@jest/globals'
import { sayClocks, townMeant } from './begin-clocks.js'

it.each([
  [{ name: 'Cologne, Germany', zone: 'Europe/Berlin', known: true }, /^Its clocks run by Europe\/Berlin\.$/],
  [{ name: '', zone: 'UTC', known: false }, /Until then its clocks run by UTC, like this computer’s\.$/],
  [{ name: 'Rheine', zone: 'UTC', known: false }, /^This town is not listed\. Its clocks run by UTC, like this computer’s: .*its country/],
  [{ name: 'Rheine', zone: 'Europe/Berlin', known: false }, /^This town is not listed\. Its clocks run by Europe\/Berlin: /],
])('says of %j whose clocks they are, and never those of this computer where they are not', (place, words) => {
  expect(sayClocks(place, 'UTC')).toMatch(words)
})

it('means the town that keeps the clocks of this computer, else the larger one, and none that only begins so', () => {
  const [venezuela, spain, near] = [
    { asked: true, zone: 'America/Caracas' },
    { asked: true, zone: 'Europe/Madrid' },
    { asked: false, zone: 'Europe/Madrid' },
  ]
  expect(townMeant([venezuela, spain], 'Europe/Madrid')).toBe(spain)
  expect(townMeant([venezuela, spain], 'Europe/Berlin')).toBe(venezuela)
  expect(townMeant([near], 'Europe/Madrid')).toBeUndefined()
})
