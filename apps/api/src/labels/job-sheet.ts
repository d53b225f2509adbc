/** A work order on paper: what the screen holds, black and white, cautions on page one, room for values, a code to type them in later. */
import { sayMeasured } from '@tapewarden/scheduling'
import type { FileAnswer, RouteQuery, RouteResult, Routes } from '@tapewarden/shared'
import type { Units } from '@tapewarden/shared/vocabulary'
import { type PDFPage, rgb } from 'pdf-lib'
import type { Reading } from '../use/work.js'
import { sheetOf } from '../work-orders/sheet.js'
import { drawCode, POINTS_A_MM } from './draw-code.js'
import { newPaper, type Paper, wrapped } from './paper.js'

type Sheet = RouteResult<Routes['getWorkOrder']>
const PAGES = { a4: [210, 297], letter: [215.9, 279.4] } as const
const EDGE = 18 * POINTS_A_MM
const CODE = 28 * POINTS_A_MM
const BODY = 10
const LEADING = 14

class Writer {
  private page: PDFPage
  private y: number

  constructor(
    private readonly paper: Paper,
    private readonly size: readonly [number, number],
    private readonly foot: string,
  ) {
    this.page = this.newPage()
    this.y = this.top
  }

  private get width(): number {
    return this.size[0] * POINTS_A_MM - 2 * EDGE
  }
  private get top(): number {
    return this.size[1] * POINTS_A_MM - EDGE
  }

  private newPage(): PDFPage {
    const page = this.paper.document.addPage([this.size[0] * POINTS_A_MM, this.size[1] * POINTS_A_MM])
    const number = this.paper.document.getPageCount()
    page.drawText(`${this.foot}, page ${number}`, { x: EDGE, y: EDGE / 2, size: 8, font: this.paper.plain })
    return page
  }

  private room(points: number): void {
    if (this.y - points > EDGE) return
    this.page = this.newPage()
    this.y = this.top
  }

  code(text: string): void {
    drawCode(this.page, text, this.size[0] * POINTS_A_MM - EDGE - CODE, EDGE, CODE)
  }

  text(words: string, { bold = false, size = BODY, indent = 0, narrow = 0 } = {}): void {
    const font = bold ? this.paper.bold : this.paper.plain
    for (const line of wrapped(font, words, size, this.width - indent - narrow)) {
      this.room(LEADING)
      this.y -= size * 1.35
      this.page.drawText(line, { x: EDGE + indent, y: this.y, size, font })
    }
  }

  gap(points = 8): void {
    this.y -= points
  }

  /** An empty box to tick, before a line. */
  box(words: string): void {
    this.room(2 * LEADING)
    this.page.drawRectangle({ x: EDGE, y: this.y - 13, width: 10, height: 10, borderWidth: 1, borderColor: rgb(0, 0, 0) })
    this.text(words, { indent: 18 })
    this.gap(4)
  }

  /** A line to write on, after its name. */
  blank(words: string): void {
    this.room(2 * LEADING)
    this.text(words, { indent: 18 })
    this.y -= 18
    this.page.drawLine({ start: { x: EDGE + 18, y: this.y }, end: { x: EDGE + this.width, y: this.y }, thickness: 0.7 })
    this.gap(4)
  }
}

type Measurement = Pick<Sheet['tasks'][number]['measurements'][number], 'name' | 'unit' | 'planLimit' | 'neverBelow'>

function limitWords({ planLimit, neverBelow, unit }: Measurement, units: Units): string {
  const say = (limit: number): string => (unit === 'mm' ? sayMeasured(limit, units) : String(limit))
  return [planLimit === null ? '' : `replace at ${say(planLimit)}`, neverBelow === null ? '' : `never below ${say(neverBelow)}`]
    .filter(Boolean)
    .join(', ')
}

/** What is to be written by hand of one value, in the unit in which it is to be measured. */
export function linesToWrite(measurement: Measurement, units: Units): [string, string] {
  const unit = measurement.unit === 'count' ? '' : units === 'us' ? ', in' : ', mm'
  return [`${measurement.name}, as found${unit} (${limitWords(measurement, units) || 'no limit'}):`, `${measurement.name}, as left${unit}:`]
}

function writeTask(writer: Writer, task: Sheet['tasks'][number], units: Units): void {
  writer.gap(10)
  writer.text(task.name, { bold: true, size: 12 })
  writer.text(task.why)
  writer.gap(4)
  task.steps.forEach((step, index) => {
    if (step.caution) writer.text(step.caution, { bold: true, indent: 18 })
    writer.box(`${index + 1}. ${step.text}`)
  })
  for (const measurement of task.measurements) {
    for (const line of linesToWrite(measurement, units)) writer.blank(line)
  }
  writer.blank('Done, or not done and why:')
}

export async function jobSheetPdf(sheet: Sheet, address: string, format: keyof typeof PAGES, units: Units): Promise<Uint8Array> {
  const paper = await newPaper(`Work order ${sheet.number}`)
  const writer = new Writer(paper, PAGES[format], `Work order ${sheet.number}, ${sheet.machine.labelCode}`)
  writer.code(address)
  const narrow = CODE + 12
  writer.text(`Work order ${sheet.number}`, { bold: true, size: 18, narrow })
  writer.text(`${sheet.machine.labelCode}, ${sheet.machine.typeName}`, { bold: true, size: 14, narrow })
  writer.text(`${sheet.warehouse.name}${sheet.station ? `, ${sheet.station.line} ${sheet.station.name}` : ''}`, { narrow })
  writer.text(`About ${Math.round(sheet.minutesPlanned)} minutes. ${sheet.technician ? `For ${sheet.technician.name}.` : ''}`, { narrow })
  writer.text('The code at the right opens this order, to type in what was written here.', { size: 8, narrow })
  writer.gap(14)
  writer.text('Before anything else', { bold: true, size: 12 })
  for (const { text } of sheet.cautions) writer.box(text)
  for (const task of sheet.tasks) writeTask(writer, task, units)
  if (sheet.functionCheck.kind !== 'none') {
    writer.gap(10)
    writer.text('Function check before hand-back', { bold: true, size: 12 })
    for (const name of [
      'Tape and roll:',
      `Asked and measured lengths, ${units === 'us' ? 'in' : 'mm'}, side by side:`,
      'Covers, cord and guard looked at:',
    ])
      writer.blank(name)
  }
  writer.gap(10)
  writer.blank('Parts used:')
  writer.blank('Minutes, waits and why:')
  writer.blank('Name and date:')
  return paper.document.save()
}

export async function printJobSheet(
  reading: Reading,
  publicUrl: string,
  workOrderId: string,
  { format }: RouteQuery<Routes['jobSheet']>,
): Promise<FileAnswer> {
  const sheet = await sheetOf(reading, workOrderId)
  const bytes = await jobSheetPdf(sheet, `${publicUrl.replace(/\/$/, '')}/hand.html#/order/${sheet.id}`, format, reading.who.units)
  return {
    fileName: `work-order-${sheet.number}.pdf`,
    mediaType: 'application/pdf',
    encoding: 'base64',
    content: Buffer.from(bytes).toString('base64'),
  }
}
