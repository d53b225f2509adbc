/** What became of one attempt, as far as anyone can know. */
export type SendOutcome =
  | { outcome: 'sent'; response: string }
  /** The server cannot hold the mail: it may be sent again later. */
  | { outcome: 'returned'; reason: string }
  /** The server refused for good (5xx): sending again would not help. atRecipient: it is this address that takes no mail. */
  | { outcome: 'refused'; reason: string; code: number; atRecipient: boolean }
  /** The body was on its way and no answer came: the server may hold it or not. Never sent again. */
  | { outcome: 'uncertain'; reason: string }

export interface AttemptError {
  message: string
  responseCode?: number | undefined
  /** The SMTP command that failed: 'CONN', 'EHLO', 'AUTH …', 'MAIL FROM', 'RCPT TO', 'DATA'. */
  command?: string | undefined
}

/** A refusal here is about this mail; before, it is about the server or our way in, and every mail would fail alike. */
const ABOUT_THE_MAIL = new Set(['MAIL FROM', 'RCPT TO', 'DATA'])

/**
 * @param dataBegun whether the server had answered DATA and the body began to flow
 * A reply decides, wherever it came; without one, only a failure before the body is known not to have delivered.
 */
export function judgeFailure(error: AttemptError, dataBegun: boolean): SendOutcome {
  const reason = error.message.slice(0, 500)
  const reply = error.responseCode ?? 0
  const aboutTheMail = dataBegun || ABOUT_THE_MAIL.has(error.command ?? '')
  if (reply >= 500 && reply < 600 && aboutTheMail)
    return { outcome: 'refused', reason, code: reply, atRecipient: error.command === 'RCPT TO' }
  if (reply >= 400 && reply < 600) return { outcome: 'returned', reason }
  if (dataBegun) return { outcome: 'uncertain', reason }
  return { outcome: 'returned', reason }
}

/** Waits 1, 2, 4 … 30 minutes between attempts (RFC 5321, 4.5.4.1 asks for 30 in general; a reminder is stale sooner). */
export function retryDelayMs(attempts: number, firstSeconds = 60): number {
  return Math.min(30, 2 ** Math.max(0, attempts - 1)) * firstSeconds * 1000
}
