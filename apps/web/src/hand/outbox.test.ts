import 'fake-indexeddb/auto'
import { afterEach, beforeEach, describe, expect, it } from '@jest/globals'
import {
  countKept,
  entriesToSend,
  type HandStore,
  keepEntry,
  keepPage,
  keptPage,
  openStore,
  pictureOf,
  sendKept,
  type Sent,
  takeBack,
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
    expect(await sendKept(store, async () => ({ outcome: 'unreachable' }))).toBe(0)
    expect((await countKept(store)).waiting).toBe(2)
  })

  it('keeps a refused entry, with the reason, and sends the rest', async () => {
    for (const id of ['a', 'b']) await keepEntry(store, entry(id))
    await sendKept(store, async ({ id }): Promise<Sent> =>
      id === 'a' ? { outcome: 'refused', reason: 'The order was cancelled.' } : { outcome: 'saved' },
    )
    const { waiting, refused } = await countKept(store)
    expect(waiting).toBe(0)
    expect(refused).toMatchObject([{ id: 'a', refused: 'The order was cancelled.' }])
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
    expect((await countKept(store)).waiting).toBe(0)
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
