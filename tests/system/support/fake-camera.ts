/** A picture for Chromium's pretended camera: a label's code drawn into a film of a few frames. */
import { writeFileSync } from 'node:fs'
import qrcode from 'qrcode'

const WIDTH = 640
const HEIGHT = 480
const FRAMES = 4
const MODULE_PX = 8

/** Flags with which Chromium takes the file as what its camera sees, and allows the camera without asking. */
export const cameraFlags = (file: string): string[] => [
  '--use-fake-device-for-media-stream',
  '--use-fake-ui-for-media-stream',
  `--use-file-for-fake-video-capture=${file}`,
]

/** Writes YUV4MPEG2, black and white: the code in the middle of a light grey wall. */
export function filmOf(text: string, file: string): void {
  const { modules } = qrcode.create(text, { errorCorrectionLevel: 'Q' })
  const luma = Buffer.alloc(WIDTH * HEIGHT, 200)
  const side = (modules.size + 8) * MODULE_PX
  const left = Math.floor((WIDTH - side) / 2)
  const top = Math.floor((HEIGHT - side) / 2)
  for (let y = 0; y < side; y += 1)
    for (let x = 0; x < side; x += 1) {
      const row = Math.floor(y / MODULE_PX) - 4
      const column = Math.floor(x / MODULE_PX) - 4
      const inside = row >= 0 && column >= 0 && row < modules.size && column < modules.size
      luma[(top + y) * WIDTH + left + x] = inside && modules.get(row, column) ? 16 : 235
    }
  const frame = Buffer.concat([Buffer.from('FRAME\n'), luma, Buffer.alloc((WIDTH * HEIGHT) / 2, 128)])
  const head = Buffer.from(`YUV4MPEG2 W${WIDTH} H${HEIGHT} F10:1 Ip A1:1 C420mpeg2\n`)
  writeFileSync(file, Buffer.concat([head, ...Array.from({ length: FRAMES }, () => frame)]))
}
