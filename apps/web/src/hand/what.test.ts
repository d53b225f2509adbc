import 'fake-indexeddb/auto'
import { describe, expect, it } from '@jest/globals'
import { keepPage, type KeptEntry, openStore } from './outbox.js'
import { closingPath, STOPPAGES } from './stoppage-overlay.js'
import { whatOf } from './what.js'

const post = (path: string, more: Partial<KeptEntry> = {}): KeptEntry => ({ id: 'e', kind: 'post', path, body: {}, keptAt: '', ...more })

describe('what a kept entry is', () => {
  it('names the machine that stands still, and that works again', async () => {
    const store = await openStore('what')
    await keepPage(store, 'machines kept', { codes: {}, labels: { m: 'DN-014' }, count: 1 }, '2026-05-04T08:00:00Z')
    const said = [post(STOPPAGES, { body: { machineId: 'm' } }), post(closingPath('s'), { machineId: 'm' })]
    expect(await Promise.all(said.map((entry) => whatOf(store, entry)))).toEqual(['DN-014: it stands still', 'DN-014: works again'])
    store.close()
  })
})
