/**
 * Ends us when the process that started us is gone, even if it was killed: its end of our pipe closes.
 * @param watch PARENT_WATCH=1; without it a closed standard input means nothing
 */
export function endWithParent(watch: boolean, end: () => void): void {
  if (!watch) return
  if (process.connected) process.on('disconnect', end)
  else process.stdin.on('end', end).on('close', end).on('error', end).resume()
}
