import 'fake-indexeddb/auto'
import { afterEach, beforeEach, describe, expect, it, jest } from '@jest/globals'
import {
  entriesToSend,
  type HandStore,
  instantNow,
  keepBody,
  keepEntry,
  keepPage,
  keptPage,
  notInPage,
  openStore,
  pictureOf,
  readKept,
  sendAgain,
  sendKept,
  type Sent,
  takeBack,
  whyStopped,
} from './outbox.js'

let store: HandStore
let number = 0
beforeEach(async () => {
  store = await openStore(`store ${number++}`)
})
afterEach(() => store.close())

const entry = (id: string): Parameters<typeof keepEntry>[1] => ({
  id,
  kind: 'work',
  workOrderId: 'order',
  body: { id },
  keptAt: '2026-05-04T08:00:00Z',
})

describe('what is kept on the phone', () => {
  it('is sent in the order it was typed and removed only when the server answered', async () => {
    for (const id of ['c', 'a', 'b']) await keepEntry(store, entry(id))
    const seen: string[] = []
    const saved = await sendKept(store, async ({ id }): Promise<Sent> => {
      seen.push(id)
      return id === 'b' ? { outcome: 'unreachable' } : { outcome: 'saved' }
    })
    expect(seen).toEqual(['c', 'a', 'b'])
    expect(saved).toBe(2)
    expect((await entriesToSend(store)).map(({ id }) => id)).toEqual(['b'])
  })

  it('stops at the first that cannot reach the server, so that order is kept', async () => {
    for (const id of ['a', 'b']) await keepEntry(store, entry(id))
    for (const outcome of ['unreachable', 'signed_out'] as const) {
      expect(await sendKept(store, async () => ({ outcome }))).toBe(0)
      expect([whyStopped(), (await entriesToSend(store)).length]).toEqual([outcome, 2])
    }
    expect(await sendKept(store, async () => ({ outcome: 'saved' }))).toBe(2)
    expect(whyStopped()).toBeNull()
  })

  it('lists what was refused in the order in which it was typed', async () => {
    for (const id of ['c', 'a', 'b']) await keepEntry(store, entry(id))
    await sendKept(store, async () => ({ outcome: 'refused', reason: 'cancelled' }))
    expect((await readKept(store)).refused.map(({ id }) => id)).toEqual(['c', 'a', 'b'])
  })

  it('keeps a refused entry, with the reason, and sends the rest', async () => {
    for (const id of ['a', 'b']) await keepEntry(store, entry(id))
    await sendKept(store, async ({ id }): Promise<Sent> =>
      id === 'a' ? { outcome: 'refused', reason: 'The order was cancelled.' } : { outcome: 'saved' },
    )
    const { entries, refused } = await readKept(store)
    expect(entries).toEqual([])
    expect(refused).toMatchObject([{ id: 'a', refused: 'The order was cancelled.' }])
  })

  it('sends what was refused again when asked to, in its place, and tells the tries apart', async () => {
    for (const id of ['a', 'b']) await keepEntry(store, entry(id))
    await sendKept(store, async (): Promise<Sent> => ({ outcome: 'refused', reason: 'Another has it.' }))
    await sendAgain(store, ['a', 'b', 'not there'])
    const sent: [string, number | undefined][] = []
    await sendKept(store, async ({ id, again }): Promise<Sent> => {
      sent.push([id, again])
      return id === 'a' ? { outcome: 'refused', reason: 'Another has it.' } : { outcome: 'saved' }
    })
    await sendAgain(store, ['a', 'b'])
    await sendKept(store, async ({ id, again }): Promise<Sent> => {
      sent.push([id, again])
      return { outcome: 'saved' }
    })
    expect(sent).toEqual([
      ['a', 1],
      ['b', 1],
      ['a', 2],
    ])
  })

  it('keeps a body that was put right', async () => {
    await keepEntry(store, entry('a'))
    await keepBody(store, 'a', { id: 'a', madeAt: 'then' })
    expect((await entriesToSend(store)).map(({ body }) => body)).toEqual([{ id: 'a', madeAt: 'then' }])
  })

  it('sends each once when two ask at the same time', async () => {
    await keepEntry(store, entry('a'))
    let calls = 0
    const send = async (): Promise<Sent> => {
      calls += 1
      await new Promise((later) => setTimeout(later, 5))
      return { outcome: 'saved' }
    }
    await Promise.all([sendKept(store, send), sendKept(store, send)])
    expect(calls).toBe(1)
  })

  it('never goes out under another person’s name', async () => {
    await keepEntry(store, { ...entry('a'), personId: 'ana' })
    await keepEntry(store, { ...entry('b'), personId: 'bo' })
    await keepEntry(store, entry('of a link'))
    const sent: string[] = []
    const send = async ({ id }: { id: string }): Promise<Sent> => {
      sent.push(id)
      return { outcome: 'saved' }
    }
    expect(await sendKept(store, send, 'bo')).toBe(2)
    expect(sent).toEqual(['b', 'of a link'])
    expect(await sendKept(store, send)).toBe(0)
    expect(await sendKept(store, send, 'ana')).toBe(1)
    expect(await entriesToSend(store)).toEqual([])
  })

  it('is taken back while it is only here, and not once the server has it', async () => {
    for (const id of ['a', 'b']) await keepEntry(store, entry(id))
    expect(await takeBack(store, 'a')).toBe(true)
    const sent: string[] = []
    const sending = sendKept(store, async ({ id }): Promise<Sent> => {
      await new Promise((later) => setTimeout(later, 5))
      sent.push(id)
      return { outcome: 'saved' }
    })
    expect(await takeBack(store, 'b')).toBe(false)
    await sending
    expect(sent).toEqual(['b'])
  })

  it('keeps a picture beside its entry, sends it after everything else, and forgets both together', async () => {
    await keepEntry(store, { ...entry('photo'), kind: 'post' }, '/9j/picture')
    await keepEntry(store, entry('a'))
    expect((await entriesToSend(store)).map(({ id, hasPicture }) => [id, hasPicture])).toEqual([
      ['a', undefined],
      ['photo', true],
    ])
    expect(await pictureOf(store, 'photo')).toBe('/9j/picture')
    expect(await sendKept(store, async () => ({ outcome: 'saved' }))).toBe(2)
    expect(await pictureOf(store, 'photo')).toBeNull()
  })

  it('sends in the same go what is typed meanwhile, before the pictures', async () => {
    await keepEntry(store, { ...entry('photo'), kind: 'post' }, '/9j/picture')
    await keepEntry(store, entry('a'))
    const sent: string[] = []
    await sendKept(store, async ({ id }): Promise<Sent> => {
      sent.push(id)
      if (id === 'a') await keepEntry(store, entry('meanwhile'))
      return { outcome: 'saved' }
    })
    expect(sent).toEqual(['a', 'meanwhile', 'photo'])
  })

  it('is laid over every page that was asked for before it was saved, and over none that was asked for after', async () => {
    await keepEntry(store, entry('a'))
    const before = instantNow()
    await sendKept(store, async () => ({ outcome: 'saved' }))
    const after = instantNow()
    await keepEntry(store, entry('b'))
    const kept = await readKept(store)
    expect(notInPage(kept, before).map(({ id }) => id)).toEqual(['a', 'b'])
    expect(notInPage(kept, null).map(({ id }) => id)).toEqual(['a', 'b'])
    expect(notInPage(kept, after).map(({ id }) => id)).toEqual(['b'])
    expect(await takeBack(store, 'a')).toBe(false)
  })

  it('is nowhere for no moment while it is sent', async () => {
    for (const id of ['a', 'b', 'c']) await keepEntry(store, entry(id))
    const before = new Date(0).toISOString()
    let going = true
    const look = (async () => {
      while (going)
        expect(
          notInPage(await readKept(store), before)
            .map(({ id }) => id)
            .sort(),
        ).toEqual(['a', 'b', 'c'])
    })()
    await sendKept(store, async () => ({ outcome: 'saved' }))
    going = false
    await look
    expect(await entriesToSend(store)).toEqual([])
  })

  it('stays for a page that is opened without a network later, also where the clock was put back, and goes after a day', async () => {
    const name = 'saved, then closed'
    const first = await openStore(name)
    await keepEntry(first, entry('a'))
    const asked = instantNow()
    await sendKept(first, async () => ({ outcome: 'saved' }))
    first.close()
    const clock = jest.spyOn(Date, 'now').mockReturnValue(Date.now() - 3_600_000)
    try {
      const second = await openStore(name)
      expect(notInPage(await readKept(second), asked).map(({ id }) => id)).toEqual(['a'])
      expect(notInPage(await readKept(second), instantNow())).toEqual([])
      second.close()
      clock.mockReturnValue(Date.parse(asked) + 25 * 3_600_000)
      const third = await openStore(name)
      await sendKept(third, async () => ({ outcome: 'unreachable' }))
      expect(await readKept(third)).toEqual({ entries: [], refused: [], saved: [] })
      third.close()
    } finally {
      clock.mockRestore()
    }
  })

  it('is still there when the page is opened again', async () => {
    const again = 'kept over a reload'
    const first = await openStore(again)
    await keepEntry(first, entry('a'))
    await keepPage(first, 'today', { orders: 3 }, '2026-05-04T08:00:00Z')
    first.close()
    const second = await openStore(again)
    expect((await entriesToSend(second)).map(({ id }) => id)).toEqual(['a'])
    expect(await keptPage(second, 'today')).toEqual({ data: { orders: 3 }, at: '2026-05-04T08:00:00Z' })
    second.close()
  })
})
