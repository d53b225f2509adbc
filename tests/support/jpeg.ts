/** Pictures as a phone's canvas makes them; with a note of the camera's beside the picture where asked. */
import { createCanvas } from '@napi-rs/canvas'

export function smallJpeg(widthPx = 8, heightPx = 8): Buffer {
  return createCanvas(widthPx, heightPx).toBuffer('image/jpeg', 60)
}

/** With an APP1 segment, where cameras write place and time. */
export function jpegWithPlace(words: string): Buffer {
  const picture = smallJpeg()
  const note = Buffer.from(`Exif\0\0${words}`, 'latin1')
  const head = Buffer.from([0xff, 0xe1, 0, 0])
  head.writeUInt16BE(note.length + 2, 2)
  return Buffer.concat([picture.subarray(0, 2), head, note, picture.subarray(2)])
}
