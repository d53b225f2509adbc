/** Every sentence of the mails. ICU: {name}, {count, plural, one {…} other {…}}. */
export const ENGLISH = {
  'subject.digest': '{warehouse}, {date}: {parts}',
  'subject.no_day_left': '{warehouse}: no day left before the limit, {date}, {count, plural, one {# job} other {# jobs}}',
  'subject.hard_limit': '{warehouse}: must be done by {date}, {count, plural, one {# job} other {# jobs}}',
  'subject.safety_finding': '{warehouse}: {count, plural, one {safety finding on {label}} other {# safety findings}}',
  'subject.hand_over': '{warehouse}: mail to {name} no longer arrives',
  'count.late': '{count, plural, one {# job late} other {# jobs late}}',
  'count.passed_on': '{count, plural, one {# job passed on to you} other {# jobs passed on to you}}',
  'count.due': '{count, plural, one {# job due} other {# jobs due}}',
  'count.coming_due': '{count, plural, one {# job coming due} other {# jobs coming due}}',
  'count.month_list': '{count, plural, one {# machine in this month’s round} other {# machines in this month’s round}}',
  'count.month_left': '{count, plural, one {# machine still open this month} other {# machines still open this month}}',
  'count.parts': '{count, plural, one {# part to order by {date}} other {# parts to order by {date}}}',
  'count.maybe_said': '{count, plural, one {# line you may have had already} other {# lines you may have had already}}',
  'count.nothing': 'nothing is open any more',
  greeting: 'Hello {name},',
  lead: '{warehouse}, {date}: {parts}.',
  'lead.hard_limit':
    '{warehouse}: {count, plural, one {# job can be done until {date} and not after it.} other {# jobs can be done until {date} and not after it.}}',
  'lead.no_day_left':
    '{warehouse}: {count, plural, one {for # job no day is left on which it may be done before its limit.} other {for # jobs no day is left on which they may be done before their limit.}}',
  'lead.safety_finding':
    '{warehouse}: {count, plural, one {someone found something unsafe on a machine.} other {someone found something unsafe on # machines.}}',
  'lead.hand_over':
    'Mail to {name} no longer arrives. {count, plural, one {# machine of {warehouse} goes} other {# machines of {warehouse} go}} to you until you choose.',
  'section.late': 'Late',
  'section.passed_on': 'Passed on to you',
  'section.due': 'Due',
  'section.coming_due': 'Coming due',
  'section.month_list': 'This month’s round',
  'section.month_left': 'Still open this month',
  'section.parts': 'Parts to order',
  'section.maybe_said': 'You may have had this already',
  'note.maybe_said': 'An earlier mail broke off while it was being handed over, so nobody can know whether it reached you.',
  'line.care': '{place}{label}: {task}. {when}',
  'line.place': '{station}, ',
  'line.for': 'For {name}, who is away.',
  'when.due': 'Due on {date}.',
  'when.was_due': 'It was due on {date}.',
  'when.due_range': 'Likely due on {date}, between {early} and {late}.',
  'when.due_from_now': 'Likely due on {date}, possibly any day until {late}.',
  'when.late': 'Late since {since}; it was due on {date}.',
  'when.hard_limit': 'To be done by {limit} at the latest.',
  'when.do_by': 'To be done by {date}: it is the last day on which this may be done before its limit, {limit}.',
  'when.no_day_left': 'No day is left on which this may be done before its limit, {limit}: decide whether it is done all the same.',
  'when.past_hard_limit': 'Its last possible day was {limit}; an administrator has to decide.',
  'when.first_look_missed': 'The first look, planned for {date}, was missed.',
  'when.earlier': 'Earlier than we said: now due on {date}.',
  'when.found': 'Found unsafe.',
  'line.month': '{place}{label}: {tasks} ({minutes, plural, one {# minute} other {# minutes}})',
  'line.month_each': 'At each, unless something else stands there: {tasks} ({minutes, plural, one {# minute} other {# minutes}}).',
  'line.month_same': '{place}{label}',
  'line.month_link': 'Open the round of {month}',
  'note.month_link':
    'Nothing is ticked beforehand; the answers are written in your name, {name}. The link is yours alone and ends on {date}.',
  'line.month_left':
    '{count, plural, one {# machine of this month’s round is still open.} other {# machines of this month’s round are still open.}}',
  'line.part': '{count} × {name} ({code}), to be ordered by {date}.',
  more: '{count, plural, one {And # more on the desk.} other {And # more on the desk.}}',
  'link.desk': 'See all of it on the desk',
  'footer.why': 'You get this because you are named for the reminders of {warehouse}.',
  'footer.unsubscribe': 'Stop these mails',
  'footer.calendar': 'The attached calendar file shows the same days. It is a view: it does not remind anyone.',
  'subject.queue_stuck': 'Tapewarden: what should go out stands still',
  'lead.queue_stuck':
    '{messages, plural, =0 {No mail is waiting to be sent} one {# mail is due and not sent} other {# mails are due and not sent}}, and {reminders, plural, =0 {no reminder waits} one {# reminder waits} other {# reminders wait}} to be put into a mail. Nothing has moved for {seconds, plural, one {# second} other {# seconds}}.',
  'note.queue_stuck':
    'This mail went past the queue. See on the health page whether the queue and the workers answer. “npm run rebuild-queue” puts every job again and is safe at any time; no mail goes out twice by it.',
  'subject.workers_silent': 'Tapewarden: no mail goes out, no worker answers',
  'lead.workers_silent':
    'No worker has been heard of for {seconds, plural, one {# second} other {# seconds}}. {messages, plural, =0 {No mail is waiting to be sent} one {# mail is due and not sent} other {# mails are due and not sent}}, and {reminders, plural, =0 {no reminder waits} one {# reminder waits} other {# reminders wait}} to be put into a mail.',
  'note.workers_silent':
    'The pages work on, and what people write is kept. Until a worker runs again, no date is worked out anew and no mail goes out. Start one, or see why those that run stand still: what waits then goes out by itself, none of it twice. This mail was sent by the process that serves the pages.',
  'subject.not_in_time': '{warehouse}: a mail to {name} could not go out in time',
  'lead.not_in_time':
    'The mail of {date} to {name} about {warehouse} could not be sent for two days and was given up: {reason} What it said and is still open stands in the next digest.',
  'footer.account': 'You get this because you answer for the reminders here. It cannot be turned off.',
  'subject.test_mail': '{warehouse}: a test mail from Tapewarden',
  'lead.test_mail':
    '{asker} sent this to see whether mail reaches you. You are named for the reminders of {warehouse}; they come from this address.',
  'footer.test_mail':
    'Nothing is due by this mail, and nothing needs an answer. If it landed among unwanted mail, let its address through.',
  'subject.webhook_off': 'Tapewarden: {name} is told nothing more',
  'lead.webhook_off':
    'For three days nothing has arrived at {host} ({name}). It is turned off now, and what waited for it was given up. The last answer: {reason} Under Set-up, Word to other programs, you can try it and turn it on again.',
  'subject.sign_in_changed': 'Tapewarden: how you sign in has changed',
  'lead.sign_in_changed.password': 'The password of your account was changed on {date} at {time} UTC. Every other session has ended.',
  'lead.sign_in_changed.codes_on': 'One-time codes were turned on for your account on {date} at {time} UTC.',
  'lead.sign_in_changed.codes_off':
    'One-time codes were turned off for your account on {date} at {time} UTC: the password alone signs in again.',
  'lead.sign_in_changed.recovery_codes':
    'New recovery codes were made for your account on {date} at {time} UTC. Earlier ones no longer work.',
  'lead.sign_in_changed.passkey_added': 'A passkey was added to your account on {date} at {time} UTC. It signs in without the password.',
  'lead.sign_in_changed.passkey_forgotten': 'A passkey was taken off your account on {date} at {time} UTC.',
  'lead.sign_in_changed.taken_away':
    '{by} took one-time codes, passkeys and sign-ins elsewhere off your account on {date} at {time} UTC: the password alone signs in again. Every session has ended.',
  'note.sign_in_changed':
    'If that was you, or you asked for it, nothing needs doing. If not: set a new password under “Forgotten the password?” at the sign-in, end the sessions on your account’s page, and tell your administrator today.',
  'footer.sign_in_changed': 'This goes to everyone whose ways of signing in change. It cannot be turned off.',
  'link.health': 'See what stands still',
  'count.work_orders': '{count, plural, one {# work order issued to you} other {# work orders issued to you}}',
  'section.work_orders': 'Work orders issued to you',
  'line.order': '{place}{label}: work order {number}, {tasks}.',
  'line.order_planned': '{place}{label}: work order {number}, {tasks}; planned for {date}.',
  'calendar.name': 'Care, {warehouse}',
  'calendar.summary': '{label}: {task}',
  'calendar.view':
    'This calendar is a view of the dates as they stand. It reminds nobody and may be hours old: what counts is the reminder mail and the desk.',
  'calendar.done': 'Done: {label}: {task}',
  'calendar.cancelled': 'No longer due: {label}: {task}',
  'calendar.round': 'Round of {month}: {count, plural, one {# machine} other {# machines}}',
  'calendar.round_cancelled': 'No round in {month}',
  'calendar.round_open':
    '{open, plural, =0 {Every machine has its answer.} one {# machine is still open.} other {# machines are still open.}}',
  'calendar.visit': 'Visit of {name}: {count, plural, =0 {no work order yet} one {# work order} other {# work orders}}',
  'calendar.visit_open': 'Visit, nobody named yet: {count, plural, =0 {no work order yet} one {# work order} other {# work orders}}',
  'calendar.visit_done': '{done} of {count, plural, one {# work order} other {# work orders}} done.',
  'unsubscribe.ask': 'Stop reminder mails?',
  'unsubscribe.what':
    'What falls due will then go to the other person named for the warehouse. Urgent mail, such as a safety finding, still comes to you.',
  'unsubscribe.button': 'Stop my reminder mails',
  'unsubscribe.done': 'Reminder mails are off',
  'unsubscribe.back': 'Your reminder mails are off. You can turn them on again on the desk, under your name.',
  'account.invitation.subject': '{organisation} invites you to Tapewarden',
  'account.invitation.lead': '{inviter} of {organisation} invites you to Tapewarden, where the care of its tape dispensers is kept.',
  'account.invitation.link': 'Choose your password',
  'account.invitation.note': 'The link works once, and for 7 days. If you expected no invitation, do nothing.',
  'account.reset.subject': 'A new password for Tapewarden',
  'account.reset.lead': 'Somebody asked for a new password for your account at {organisation}.',
  'account.reset.link': 'Choose a new password',
  'account.reset.note': 'The link works once, and for one hour. If it was not you, do nothing: your password stays as it is.',
} as const

export type MessageKey = keyof typeof ENGLISH
export type Sentences = Readonly<Record<MessageKey, string>>
