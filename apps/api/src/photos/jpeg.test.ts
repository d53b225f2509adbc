import { describe, expect, it } from '@jest/globals'
import { jpegWithPlace, smallJpeg } from '../../../../tests/support/jpeg.js'
import { readJpeg } from './jpeg.js'

describe('a JPEG', () => {
  it('is kept without what stands beside the picture, and is the same picture after that', () => {
    const read = readJpeg(jpegWithPlace('52.5200 N, 13.4050 E'))
    expect(read).toMatchObject({ widthPx: 8, heightPx: 8 })
    expect(read?.bytes.includes('52.5200')).toBe(false)
    expect(read?.bytes).toEqual(readJpeg(smallJpeg())?.bytes)
    // Read again, nothing more is left out.
    expect(readJpeg(read?.bytes ?? Buffer.alloc(0))?.bytes).toEqual(read?.bytes)
  })

  it('is none where it is cut, empty, or something else', () => {
    const whole = smallJpeg()
    for (const bytes of [
      Buffer.alloc(0),
      Buffer.from('%PDF-1.7 something'),
      whole.subarray(0, 40),
      whole.subarray(0, -2),
      Buffer.from('ffd8ff', 'hex'),
    ])
      expect(readJpeg(bytes)).toBeNull()
    expect(readJpeg(Buffer.concat([whole, Buffer.from('<script>')]))?.bytes.includes('script')).toBe(false)
  })

  it('of another size says so', () => {
    expect(readJpeg(smallJpeg(64, 48))).toMatchObject({ widthPx: 64, heightPx: 48 })
  })
})
