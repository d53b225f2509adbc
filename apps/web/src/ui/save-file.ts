/** Hands a file of the api to the browser's own saving. */
import type { FileAnswer } from '@tapewarden/shared'

function blobOf({ content, encoding, mediaType }: FileAnswer): Blob {
  if (encoding === 'utf8') return new Blob([content], { type: mediaType })
  const bytes = Uint8Array.from(atob(content), (letter) => letter.charCodeAt(0))
  return new Blob([bytes], { type: mediaType })
}

export function saveFile(file: FileAnswer): void {
  const address = URL.createObjectURL(blobOf(file))
  const link = document.createElement('a')
  link.href = address
  link.download = file.fileName
  link.click()
  setTimeout(() => URL.revokeObjectURL(address), 60_000)
}
