/** How old an answer is that is shown. */
export function sayAge(at: string | null, now = Date.now()): string {
  if (at === null) return ''
  const minutes = Math.round((now - Date.parse(at)) / 60_000)
  if (minutes < 2) return 'As of now.'
  if (minutes < 90) return `As of ${minutes} minutes ago.`
  const hours = Math.round(minutes / 60)
  return hours < 48 ? `As of ${hours} hours ago.` : `As of ${Math.round(hours / 24)} days ago.`
}

/** '27 Nov, 11:38', by the phone's own zone. */
export const sayTime = (instant: string): string =>
  new Intl.DateTimeFormat('en-GB', { day: 'numeric', month: 'short', hour: '2-digit', minute: '2-digit' }).format(new Date(instant))
