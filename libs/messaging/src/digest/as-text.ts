import type { Block, MailDocument } from './model.js'

const WIDTH = 72

/** Wraps at spaces; a word longer than a line, such as an address, stays whole. */
function wrap(text: string, indent: string): string {
  const lines: string[] = []
  let line = ''
  for (const word of text.split(' ')) {
    if (line !== '' && line.length + 1 + word.length > WIDTH - indent.length) {
      lines.push(line)
      line = word
    } else line = line === '' ? word : `${line} ${word}`
  }
  return [...lines, line].join(`\n${indent}`)
}

function write(block: Block): string {
  switch (block.kind) {
    case 'paragraph':
    case 'small':
      return wrap(block.text, '')
    case 'heading':
      return `${block.text}\n${'-'.repeat(Array.from(block.text).length)}`
    case 'list':
      return block.items.map(({ text, strong }) => `- ${wrap(strong ? `${text} ${strong.text}` : text, '  ')}`).join('\n')
    case 'link':
      return `${block.text}:\n${block.url}`
  }
}

export function writeText({ blocks }: MailDocument): string {
  return `${blocks.map(write).join('\n\n')}\n`
}
