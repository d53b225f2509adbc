/** A QR code (ISO/IEC 18004) as black rectangles on a page: level H (a step above Q, for labels that are scraped and gummed), a margin of four modules. */
import { type PDFPage, rgb } from 'pdf-lib'
import QrCode from 'qrcode'

export const POINTS_A_MM = 72 / 25.4
/** ISO/IEC 18004: the quiet zone is four modules wide. */
const MARGIN_MODULES = 4

/**
 * @param left, top  of the code with its margin, in points from the page's upper left corner
 * @param side       of the code with its margin, points
 */
export function drawCode(page: PDFPage, text: string, left: number, top: number, side: number): void {
  const { modules } = QrCode.create(text, { errorCorrectionLevel: 'H' })
  const module = side / (modules.size + 2 * MARGIN_MODULES)
  const height = page.getHeight()
  for (let row = 0; row < modules.size; row++)
    for (let from = 0; from < modules.size; from++) {
      if (!modules.get(row, from)) continue
      // One rectangle a run of dark modules: no hairlines between them.
      let to = from
      while (to < modules.size && modules.get(row, to)) to++
      page.drawRectangle({
        x: left + (MARGIN_MODULES + from) * module,
        y: height - top - (MARGIN_MODULES + row + 1) * module,
        width: (to - from) * module,
        height: module,
        color: rgb(0, 0, 0),
      })
      from = to
    }
}
