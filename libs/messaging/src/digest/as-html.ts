import type { Block, ListItem, MailDocument } from './model.js'

const ENTITIES: Readonly<Record<string, string>> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;', "'": '&#39;' }

export function escapeHtml(text: string): string {
  return text.replace(/[&<>"']/g, (sign) => ENTITIES[sign] as string)
}

/**
 * No colours of text or ground are set, so a mail program's light or dark holds; rules and links take the text's colour.
 * No images, no outside files; one column that narrows to 320 px.
 */
const FONT = 'font-family:system-ui,-apple-system,Segoe UI,Roboto,Helvetica,Arial,sans-serif'
const BODY = `margin:0;padding:0;${FONT};font-size:16px;line-height:1.5`
const COLUMN = 'max-width:36em;margin:0 auto;padding:16px;overflow-wrap:anywhere;word-break:break-word'
const PARAGRAPH = 'margin:0 0 12px'
const HEADING = 'margin:24px 0 8px;padding-top:12px;border-top:1px solid;font-size:18px;line-height:1.3'
const LIST = 'margin:0 0 12px;padding:0 0 0 20px'
const ITEM = 'margin:0 0 8px;padding:0'
const LINK = 'color:inherit;font-weight:600;text-decoration:underline;display:inline-block;padding:10px 0'
const SMALL = 'margin:0 0 12px;font-size:14px'

function languageAttribute(of: string | undefined, document: string): string {
  return of !== undefined && of !== document ? ` lang="${escapeHtml(of)}"` : ''
}

function writeItem({ text, strong }: ListItem, language: string): string {
  const more = strong ? ` <strong${languageAttribute(strong.language, language)}>${escapeHtml(strong.text)}</strong>` : ''
  return `<li style="${ITEM}">${escapeHtml(text)}${more}</li>`
}

function write(block: Block, language: string): string {
  switch (block.kind) {
    case 'paragraph':
      return `<p style="${PARAGRAPH}"${languageAttribute(block.language, language)}>${escapeHtml(block.text)}</p>`
    case 'small':
      return `<p style="${SMALL}">${escapeHtml(block.text)}</p>`
    case 'heading':
      return `<h2 style="${HEADING}">${escapeHtml(block.text)}</h2>`
    case 'list':
      return `<ul style="${LIST}">\n${block.items.map((item) => writeItem(item, language)).join('\n')}\n</ul>`
    case 'link':
      return `<p style="${PARAGRAPH}"><a href="${escapeHtml(block.url)}" style="${LINK}">${escapeHtml(block.text)}</a></p>`
  }
}

export function writeHtml({ language, subject, blocks }: MailDocument): string {
  return `<!doctype html>
<html lang="${escapeHtml(language)}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<meta name="supported-color-schemes" content="light dark">
<title>${escapeHtml(subject)}</title>
<style>:root{color-scheme:light dark}</style>
</head>
<body style="${BODY}">
<div style="${COLUMN}">
${blocks.map((block) => write(block, language)).join('\n')}
</div>
</body>
</html>
`
}
