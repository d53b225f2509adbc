/** The printed page itself: rendered at 300 dots an inch, the code cut out, and read by two decoders that know nothing of how it was drawn. */
import { describe, expect, it } from '@jest/globals'
import { createCanvas, DOMMatrix, ImageData, Path2D } from '@napi-rs/canvas'
import jsQr from 'jsqr'
import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { prepareZXingModule, readBarcodes } from 'zxing-wasm/reader'
import { LABEL_LAYOUTS, placeOf } from './label-layouts.js'
import { labelsPdf } from './label-pdf.js'
import { addressOf, newToken } from './labels.js'

// The renderer must draw with the very classes of the canvas that it draws on.
Object.assign(globalThis, { DOMMatrix, ImageData, Path2D })
const { getDocument } = await import('pdfjs-dist/legacy/build/pdf.mjs')

const DOTS_A_MM = 300 / 25.4
const find = createRequire(import.meta.url).resolve
prepareZXingModule({ overrides: { wasmBinary: readFileSync(find('zxing-wasm/reader/zxing_reader.wasm')).buffer as ArrayBuffer } })

interface Pixels {
  data: Uint8ClampedArray
  width: number
  height: number
}
interface Area {
  leftMm: number
  topMm: number
  sideMm: number
}

async function render(bytes: Uint8Array): Promise<(area: Area, dots?: number) => Pixels> {
  const page = await (await getDocument({ data: bytes, verbosity: 0 }).promise).getPage(1)
  const viewport = page.getViewport({ scale: 300 / 72 })
  const canvas = createCanvas(Math.ceil(viewport.width), Math.ceil(viewport.height))
  await page.render({ canvas: canvas as never, viewport }).promise
  return ({ leftMm, topMm, sideMm }) => {
    const side = Math.round(sideMm * DOTS_A_MM)
    const { data } = canvas.getContext('2d').getImageData(Math.round(leftMm * DOTS_A_MM), Math.round(topMm * DOTS_A_MM), side, side)
    return { data: new Uint8ClampedArray(data), width: side, height: side }
  }
}

/** A square blot over this share of the code, on its middle: as much as a scraper takes off at once. */
function blotted({ data, width, height }: Pixels, share: number, value: number): Pixels {
  const copy = new Uint8ClampedArray(data)
  const code = width * 0.78
  const side = Math.round(code * Math.sqrt(share))
  const from = Math.round((width - side) / 2)
  for (let y = from; y < from + side; y++)
    for (let x = from; x < from + side; x++) copy.fill(value, (y * width + x) * 4, (y * width + x) * 4 + 3)
  return { data: copy, width, height }
}

// A CommonJS module whose types name its function 'default'.
const decode = jsQr as unknown as typeof jsQr.default
const byJsQr = ({ data, width, height }: Pixels): string | null => decode(data, width, height)?.data ?? null
const byZxing = async (pixels: Pixels): Promise<string | null> =>
  (await readBarcodes({ ...pixels, colorSpace: 'srgb' } as never, { formats: ['QRCode'], tryHarder: true }))[0]?.text ?? null

const ADDRESSES = ['http://127.0.0.1:8321/', 'https://tape.example.org'].map((url) => addressOf(url, newToken()))

describe('a printed label', () => {
  const sheets = Object.entries(LABEL_LAYOUTS).map(([name, layout]) => [name, layout] as const)
  it.each(sheets)(
    '%s has a code of 20 mm or more that two decoders read, also with 15 %% of it damaged',
    async (_name, layout) => {
      const sideMm = Math.min(30, layout.label.heightMm - 2)
      expect(sideMm).toBeGreaterThanOrEqual(20)
      for (const address of ADDRESSES) {
        const last = layout.columns * layout.rows - 1
        const labels = Array.from({ length: last + 1 }, () => ({ address, labelCode: 'N-01', lines: ['Lange Straße 5, Łódź', 'A 01'] }))
        const cut = await render(await labelsPdf(layout, labels))
        const { leftMm, topMm } = placeOf(layout, last)
        const code = cut({ leftMm: leftMm + 1, topMm: topMm + (layout.label.heightMm - sideMm) / 2, sideMm })
        expect([byJsQr(code), await byZxing(code)]).toEqual([address, address])
        for (const value of [255, 0]) {
          const damaged = blotted(code, 0.15, value)
          expect([value, byJsQr(damaged), await byZxing(damaged)]).toEqual([value, address, address])
        }
      }
    },
    120_000,
  )

  it('at exactly 20 mm is read by both', async () => {
    const layout = { ...LABEL_LAYOUTS.roll_50_by_25, page: { widthMm: 50, heightMm: 22 }, label: { widthMm: 50, heightMm: 22 } }
    for (const address of ADDRESSES) {
      const cut = await render(await labelsPdf(layout, [{ address, labelCode: 'N-01', lines: [] }]))
      const code = cut({ leftMm: 1, topMm: 1, sideMm: 20 })
      expect([byJsQr(code), await byZxing(code)]).toEqual([address, address])
      const damaged = blotted(code, 0.15, 255)
      expect([byJsQr(damaged), await byZxing(damaged)]).toEqual([address, address])
    }
  }, 120_000)

  it('holds nothing that can be read but where to ask', () => {
    expect(addressOf('https://tape.example.org/', '0123456789AB')).toBe('HTTPS://TAPE.EXAMPLE.ORG/L/0123456789AB')
    expect(new Set(Array.from({ length: 1000 }, newToken)).size).toBe(1000)
  })
})
