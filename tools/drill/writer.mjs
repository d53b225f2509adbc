// Writes on at a steady rate through the api, and knows of each row when it was asked for and when it was acknowledged.
const PER_SECOND = 4

/** @returns {rows, stop()}: rows grow as they are acknowledged; stop waits for none that is on its way */
export function writeOn(client, prefix) {
  const rows = []
  let going = true
  const nameOf = (n) => `${prefix} ${String(n).padStart(6, '0')}`
  const ended = (async () => {
    for (let n = 0; going; n++) {
      const askedAt = Date.now()
      try {
        await client.post('/api/v1/parts', { name: nameOf(n), stockCode: nameOf(n).replaceAll(' ', '-') })
        rows.push({ name: nameOf(n), askedAt, acknowledgedAt: Date.now() })
      } catch (error) {
        // Not acknowledged: nothing was promised.
        if (going) throw error
      }
      await new Promise((later) => setTimeout(later, Math.max(0, askedAt + 1000 / PER_SECOND - Date.now())))
    }
  })()
  let failure = null
  ended.catch((error) => (failure = error))
  return {
    rows,
    /** Call it at the moment of the loss; from then on an error is expected. */
    stop() {
      going = false
      if (failure) throw failure
      return ended.catch(() => undefined)
    },
  }
}

/**
 * What of the acknowledged rows is there after the restore as far as the log reached.
 * @returns missing: how many; recoveryPointSeconds: from the oldest missing one's acknowledgement to the loss; newestMissingSeconds:
 *   the same for the newest; gaps: missing ones with a later one there (none may be)
 */
export function judgeLoss(rows, present, lostAt) {
  const missing = rows.filter(({ name }) => !present.has(name))
  const lastThere = rows.findLastIndex(({ name }) => present.has(name))
  const age = (row) => (row ? (lostAt - row.acknowledgedAt) / 1000 : 0)
  return {
    acknowledged: rows.length,
    missing: missing.length,
    recoveryPointSeconds: age(missing[0]),
    newestMissingSeconds: age(missing.at(-1)),
    gaps: rows.slice(0, lastThere + 1).filter(({ name }) => !present.has(name)).length,
  }
}

/** After the restore to an instant: acknowledged by then and not there, or asked for only afterwards and there. */
export function judgeInstant(rows, present, at) {
  const missing = rows.filter(({ name, acknowledgedAt }) => acknowledgedAt <= at && !present.has(name)).length
  const tooMany = rows.filter(({ name, askedAt }) => askedAt > at && present.has(name)).length
  return {
    before: rows.filter(({ acknowledgedAt }) => acknowledgedAt <= at).length,
    after: rows.filter(({ askedAt }) => askedAt > at).length,
    missing,
    tooMany,
  }
}
