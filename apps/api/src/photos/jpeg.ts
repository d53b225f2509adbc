/** What may be kept of a JPEG: the picture. Place, time, camera and other notes beside it are left out. Pure. */

export interface Picture {
  bytes: Buffer
  widthPx: number
  heightPx: number
}

const START_OF_SCAN = 0xda
/** Frames that decoders of browsers know: baseline, extended, progressive. */
const FRAMES = new Set([0xc0, 0xc1, 0xc2])
/** APP0 (JFIF) and APP14 (colour transform) say how the picture is to be shown; the rest of the APPn and comments do not. */
const isNote = (marker: number): boolean => (marker >= 0xe1 && marker <= 0xef && marker !== 0xee) || marker === 0xfe

/** @returns null where these bytes are no JPEG with a frame and a scan (ITU-T T.81, annex B) */
export function readJpeg(bytes: Buffer): Picture | null {
  if (bytes.length < 4 || bytes.readUInt16BE(0) !== 0xffd8) return null
  const kept = [bytes.subarray(0, 2)]
  let size: { widthPx: number; heightPx: number } | null = null
  let at = 2
  while (at + 4 <= bytes.length) {
    if (bytes[at] !== 0xff) return null
    const marker = bytes[at + 1] ?? 0
    const end = at + 2 + bytes.readUInt16BE(at + 2)
    if (end > bytes.length || end < at + 4) return null
    if (FRAMES.has(marker) && end - at >= 10) size = { heightPx: bytes.readUInt16BE(at + 5), widthPx: bytes.readUInt16BE(at + 7) }
    if (marker === START_OF_SCAN) {
      // What follows the end of the picture is no part of it.
      const last = bytes.lastIndexOf(Buffer.from([0xff, 0xd9]))
      if (!size || size.widthPx === 0 || size.heightPx === 0 || last < end) return null
      return { ...size, bytes: Buffer.concat([...kept, bytes.subarray(at, last + 2)]) }
    }
    if (!isNote(marker)) kept.push(bytes.subarray(at, end))
    at = end
  }
  return null
}
