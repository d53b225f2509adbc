import { drawCode, POINTS_A_MM } from './draw-code.js'
import { type LabelLayout, placeOf } from './label-layouts.js'
import { newPaper, type Paper, sizeThatFits } from './paper.js'

export interface Label {
  /** Stands in the code. */
  address: string
  /** Stands beside it in plain letters. */
  labelCode: string
  lines: readonly string[]
}

const PADDING_MM = 1
const MOST_CODE_MM = 30

/** The code at the left, as large as the label allows; beside it the label code large, then whose and where. */
function drawLabel({ document, plain, bold }: Paper, layout: LabelLayout, label: Label, number: number): void {
  const page = document.getPage(document.getPageCount() - 1)
  const { leftMm, topMm } = placeOf(layout, number)
  const sideMm = Math.min(MOST_CODE_MM, layout.label.heightMm - 2 * PADDING_MM)
  const [left, top] = [(leftMm + PADDING_MM) * POINTS_A_MM, (topMm + (layout.label.heightMm - sideMm) / 2) * POINTS_A_MM]
  drawCode(page, label.address, left, top, sideMm * POINTS_A_MM)
  const textLeft = left + (sideMm + PADDING_MM) * POINTS_A_MM
  const width = (layout.label.widthMm - sideMm - 3 * PADDING_MM) * POINTS_A_MM
  const size = sizeThatFits(bold, label.labelCode, 16, width)
  let y = page.getHeight() - top - 16 - 4
  page.drawText(label.labelCode, { x: textLeft, y, size, font: bold })
  for (const line of label.lines) {
    y -= 10
    page.drawText(line, { x: textLeft, y, size: sizeThatFits(plain, line, 8, width), font: plain })
  }
}

/** @param skip  labels of the first sheet that are used already */
export async function labelsPdf(layout: LabelLayout, labels: readonly Label[], skip = 0): Promise<Uint8Array> {
  const paper = await newPaper('Labels')
  const each = layout.columns * layout.rows
  labels.forEach((label, index) => {
    const number = index + skip
    if (index === 0 || number % each === 0) paper.document.addPage([layout.page.widthMm * POINTS_A_MM, layout.page.heightMm * POINTS_A_MM])
    drawLabel(paper, layout, label, number % each)
  })
  return paper.document.save()
}
