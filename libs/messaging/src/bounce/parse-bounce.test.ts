import { describe, expect, it } from '@jest/globals'
import { deliveryReport } from '../../../../tests/support/bounces.js'
import { parseBounce } from './parse-bounce.js'

const read = (text: string) => parseBounce(Buffer.from(text))
const messageId = '018f0000-0000-7000-8000-0000000000aa'

/** RFC 3464, appendix E.1. */
const SIMPLE = `Date: Thu, 7 Jul 1994 17:16:05 -0400
From: Mail Delivery Subsystem <MAILER-DAEMON@CS.UTK.EDU>
Message-Id: <199407072116.RAA14128@CS.UTK.EDU>
Subject: Returned mail: Cannot send message for 5 days
To: <owner-info-mime@cs.utk.edu>
MIME-Version: 1.0
Content-Type: multipart/report; report-type=delivery-status;
      boundary="RAA14128.773615765/CS.UTK.EDU"

--RAA14128.773615765/CS.UTK.EDU

The original message was received at Sat, 2 Jul 1994 17:10:28 -0400
from root@localhost

--RAA14128.773615765/CS.UTK.EDU
content-type: message/delivery-status

Reporting-MTA: dns; cs.utk.edu

Original-Recipient: rfc822;louisl@larry.slip.umd.edu
Final-Recipient: rfc822;louisl@larry.slip.umd.edu
Action: failed
Status: 4.0.0
Diagnostic-Code: smtp; 426 connection timed out
Last-Attempt-Date: Thu, 7 Jul 1994 17:15:49 -0400

--RAA14128.773615765/CS.UTK.EDU
content-type: message/rfc822

[original message goes here]

--RAA14128.773615765/CS.UTK.EDU--
`

describe('mail that came back', () => {
  it('is read as RFC 3464, appendix E.1 writes it', async () => {
    expect(await read(SIMPLE)).toEqual({
      sourceKey: '<199407072116.RAA14128@CS.UTK.EDU>',
      messageIds: [],
      reports: [{ address: 'louisl@larry.slip.umd.edu', kind: 'soft', statusCode: '4.0.0', diagnostic: 'smtp; 426 connection timed out' }],
    })
  })

  it('names our mail, the address and why, with a folded diagnostic', async () => {
    expect(await read(deliveryReport({ messageId, address: 'tom@example.org', id: 'one' }))).toEqual({
      sourceKey: '<one@relay.example>',
      messageIds: [messageId],
      reports: [
        {
          address: 'tom@example.org',
          kind: 'hard',
          statusCode: '5.1.1',
          diagnostic: 'smtp; 550 5.1.1 <tom@example.org>: Recipient address rejected: User unknown in virtual mailbox table',
        },
      ],
    })
  })

  it.each([
    ['5.1.1', 'hard'],
    ['5.1.10', 'hard'],
    ['5.2.1', 'hard'],
    ['5.4.4', 'hard'],
    ['5.0.0', 'hard'],
    ['5.2.2', 'soft'],
    ['5.3.4', 'soft'],
    ['5.7.1', 'soft'],
    ['4.2.2', 'soft'],
  ])('%s is %s (RFC 3463)', async (status, kind) => {
    expect((await read(deliveryReport({ messageId, address: 'tom@example.org', status }))).reports).toMatchObject([{ kind }])
  })

  it('is none where it is only delayed, an answer from a holiday, or no mail at all', async () => {
    expect((await read(deliveryReport({ messageId, address: 'tom@example.org', action: 'delayed', status: '4.4.1' }))).reports).toEqual([])
    expect((await read(`From: tom@example.org\nAuto-Submitted: auto-replied\nSubject: Away\n\nI am away until Monday.\n`)).reports).toEqual(
      [],
    )
    for (const noise of [
      '',
      '\u0000\u0001',
      'x'.repeat(100_000),
      'Content-Type: multipart/report; boundary=a\n\n--a\nContent-Type: message/delivery-status\n\n',
    ])
      expect((await read(noise)).reports).toEqual([])
  })
})
