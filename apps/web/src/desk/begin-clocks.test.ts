import { expect, it } from '@jest/globals'
import { sayClocks } from './begin-clocks.js'

it.each([
  [{ name: 'Cologne, Germany', zone: 'Europe/Berlin', known: true }, /^Its clocks run by Europe\/Berlin\.$/],
  [{ name: '', zone: 'UTC', known: false }, /Until then its clocks run by UTC, like this computer’s\.$/],
  [{ name: 'Köln', zone: 'UTC', known: false }, /^This town is not listed\. Its clocks run by UTC, like this computer’s: .*English name/],
  [{ name: 'Köln', zone: 'Europe/Berlin', known: false }, /^This town is not listed\. Its clocks run by Europe\/Berlin: /],
])('says of %j whose clocks they are, and never those of this computer where they are not', (place, words) => {
  expect(sayClocks(place, 'UTC')).toMatch(words)
})
