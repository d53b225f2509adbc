/** What one's own first page asks for; public/early.js asks for it next time while the script is on its way. */
const KEY = 'tapewarden-early'

export function askEarlyNextTime(paths: readonly string[]): void {
  try {
    localStorage.setItem(KEY, JSON.stringify(paths))
  } catch {
    // Then it is asked for when the page is there.
  }
}
