/** A camera's picture made small enough for a slow network, on the phone; place and camera stay behind. */

/** Longer side: a label's letters and a crack are still read. */
const LONGEST_PX = 1600
const MOST_BYTES = 600_000
const QUALITIES = [0.82, 0.7, 0.55, 0.4]

const sizeWithin = (width: number, height: number, longestPx: number): [number, number] => {
  const scale = Math.min(1, longestPx / Math.max(width, height))
  return [Math.max(1, Math.round(width * scale)), Math.max(1, Math.round(height * scale))]
}

const blobOf = (canvas: HTMLCanvasElement, quality: number): Promise<Blob | null> =>
  new Promise((done) => canvas.toBlob(done, 'image/jpeg', quality))

async function base64Of(blob: Blob): Promise<string> {
  const address = await new Promise<string>((done, fail) => {
    const reader = new FileReader()
    reader.addEventListener('load', () => done(String(reader.result)))
    reader.addEventListener('error', () => fail(reader.error ?? new Error('The picture cannot be read.')))
    reader.readAsDataURL(blob)
  })
  return address.slice(address.indexOf(',') + 1)
}

/** @returns a JPEG in base64 @throws Error, in words, for a file that is no picture */
export async function shrink(file: Blob): Promise<string> {
  const bitmap = await createImageBitmap(file, { imageOrientation: 'from-image' }).catch(() => {
    throw new Error('This file is no picture that this phone can read.')
  })
  const canvas = document.createElement('canvas')
  for (const longestPx of [LONGEST_PX, LONGEST_PX / 2]) {
    const [width, height] = sizeWithin(bitmap.width, bitmap.height, longestPx)
    canvas.width = width
    canvas.height = height
    canvas.getContext('2d')?.drawImage(bitmap, 0, 0, width, height)
    for (const quality of QUALITIES) {
      const blob = await blobOf(canvas, quality)
      if (blob && blob.size <= MOST_BYTES) return base64Of(blob)
    }
  }
  throw new Error('This picture cannot be made small enough.')
}
