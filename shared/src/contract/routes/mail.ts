/** Wishes about mail, calendar feeds, what was sent and what came back. */
import { doneSchema, listOf, pageOf } from '../common.js'
import * as mail from '../mail.js'
import * as parts from '../parts.js'
import * as people from '../people.js'
import type { Route } from '../route-kinds.js'
import { created, crew, desk, everyone, ok, v1 } from './base.js'

export const mailRoutes = {
  getMyMail: ok({
    method: 'GET',
    path: `${v1}/me/mail`,
    noun: 'mail',
    summary: 'How one wants one’s own mail',
    access: everyone,
    response: mail.mailPreferencesSchema,
  }),
  patchMyMail: ok({
    method: 'PATCH',
    path: `${v1}/me/mail`,
    noun: 'mail',
    summary: 'Kinds, lead, day, hour and quiet hours of one’s own digests',
    access: everyone,
    body: mail.patchMailPreferencesRequestSchema,
    response: mail.mailPreferencesSchema,
  }),
  getPersonMail: ok({
    method: 'GET',
    path: `${v1}/people/:personId/mail`,
    noun: 'mail',
    summary: 'How a person wants their mail, and whether it arrives',
    access: desk,
    params: people.personParamsSchema,
    response: mail.mailPreferencesSchema,
  }),
  patchPersonMail: ok({
    method: 'PATCH',
    path: `${v1}/people/:personId/mail`,
    noun: 'mail',
    summary: 'Turn a person’s reminder mail on again, say that their address works again, or change their wishes',
    access: desk,
    params: people.personParamsSchema,
    body: mail.patchMailPreferencesRequestSchema,
    response: mail.mailPreferencesSchema,
  }),
  listCalendarFeeds: ok({
    method: 'GET',
    path: `${v1}/me/calendar-feeds`,
    noun: 'mail',
    summary: 'Own calendars, without their addresses',
    access: crew,
    response: listOf(mail.calendarFeedSchema),
  }),
  createCalendarFeed: created({
    method: 'POST',
    path: `${v1}/me/calendar-feeds`,
    noun: 'mail',
    summary: 'A secret address for one’s calendar of a warehouse; ends the earlier one',
    access: crew,
    body: mail.createCalendarFeedRequestSchema,
    response: mail.newCalendarFeedSchema,
    answerHeldBack: true,
  }),
  revokeCalendarFeed: ok({
    method: 'DELETE',
    path: `${v1}/me/calendar-feeds/:feedId`,
    noun: 'mail',
    summary: 'End the address of one’s calendar at once',
    access: crew,
    params: mail.calendarFeedParamsSchema,
    response: doneSchema,
  }),
  listBounces: ok({
    method: 'GET',
    path: `${v1}/bounces`,
    noun: 'mail',
    summary: 'Mail that came back, and what followed',
    access: desk,
    query: mail.listBouncesQuerySchema,
    response: pageOf(mail.bounceSchema),
  }),

  listMessages: ok({
    method: 'GET',
    path: `${v1}/messages`,
    noun: 'messages',
    summary: 'Messages and what became of them',
    access: desk,
    query: parts.listMessagesQuerySchema,
    response: pageOf(parts.messageSchema),
  }),
  listReminders: ok({
    method: 'GET',
    path: `${v1}/reminders`,
    noun: 'messages',
    summary: 'Reminders',
    access: desk,
    query: parts.listRemindersQuerySchema,
    response: pageOf(parts.reminderSchema),
  }),
} satisfies Record<string, Route>
