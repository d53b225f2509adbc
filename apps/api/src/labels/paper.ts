/** What labels and job sheets share: a document with a font that knows more than English, and text that fits its room. */
import { readFile } from 'node:fs/promises'
import { createRequire } from 'node:module'
import fontkit from '@pdf-lib/fontkit'
import { PDFDocument, type PDFFont } from 'pdf-lib'

export interface Paper {
  document: PDFDocument
  plain: PDFFont
  bold: PDFFont
}

const find = createRequire(import.meta.url).resolve

export async function newPaper(title: string): Promise<Paper> {
  const document = await PDFDocument.create()
  document.registerFontkit(fontkit)
  document.setTitle(title)
  const font = async (name: string): Promise<PDFFont> =>
    document.embedFont(await readFile(find(`dejavu-fonts-ttf/ttf/${name}.ttf`)), { subset: true })
  return { document, plain: await font('DejaVuSans'), bold: await font('DejaVuSans-Bold') }
}

/** The largest size, up to the one asked for, at which the text fits the width. Points. */
export function sizeThatFits(font: PDFFont, text: string, most: number, width: number): number {
  const atOne = font.widthOfTextAtSize(text, 1)
  return atOne === 0 ? most : Math.min(most, width / atOne)
}

/** Lines no wider than the room; a word that is too long alone is cut. */
export function wrapped(font: PDFFont, text: string, size: number, width: number): string[] {
  const lines: string[] = []
  let line = ''
  const fits = (words: string): boolean => font.widthOfTextAtSize(words, size) <= width
  for (let word of text.split(/\s+/)) {
    while (!fits(word) && word.length > 1) {
      let length = word.length - 1
      while (length > 1 && !fits(word.slice(0, length))) length--
      if (line) lines.push(line)
      lines.push(word.slice(0, length))
      line = ''
      word = word.slice(length)
    }
    const longer = line === '' ? word : `${line} ${word}`
    if (fits(longer)) line = longer
    else {
      lines.push(line)
      line = word
    }
  }
  if (line) lines.push(line)
  return lines
}
