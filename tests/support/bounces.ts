/** Notifications of failure as mail servers write them. */
interface Asked {
  messageId: string
  address: string
  status?: string
  action?: string
  id?: string
}

/** Fields as a common mail server sends them: folded diagnostic, returned headers only. */
export function deliveryReport({ messageId, address, status = '5.1.1', action = 'failed', id = `${Math.random()}` }: Asked): string {
  return `Return-Path: <>
From: MAILER-DAEMON@relay.example (Mail Delivery System)
To: tapewarden@care.example
Subject: Undelivered Mail Returned to Sender
Message-ID: <${id}@relay.example>
Auto-Submitted: auto-replied
MIME-Version: 1.0
Content-Type: multipart/report; report-type=delivery-status;
\tboundary="AB12.1764/relay.example"

--AB12.1764/relay.example
Content-Description: Notification
Content-Type: text/plain; charset=us-ascii

I'm sorry to have to inform you that your message could not be delivered.

--AB12.1764/relay.example
Content-Description: Delivery report
Content-Type: message/delivery-status

Reporting-MTA: dns; relay.example
X-Queue-ID: AB12
Arrival-Date: Tue,  3 Mar 2026 10:00:00 +0000 (UTC)

Final-Recipient: rfc822; ${address}
Original-Recipient: rfc822;${address}
Action: ${action}
Status: ${status}
Remote-MTA: dns; mx.example
Diagnostic-Code: smtp; 550 ${status} <${address}>: Recipient address rejected:
    User unknown in virtual mailbox table

--AB12.1764/relay.example
Content-Description: Undelivered Message Headers
Content-Type: text/rfc822-headers

From: Tapewarden <tapewarden@care.example>
Message-ID: <message-${messageId}@care.example>
Subject: North, Tuesday 3 March: 3 jobs due

--AB12.1764/relay.example--
`.replaceAll('\n', '\r\n')
}
