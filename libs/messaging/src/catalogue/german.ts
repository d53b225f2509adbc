import type { Sentences } from './english.js'

export const GERMAN: Sentences = {
  'subject.digest': '{warehouse}, {date}: {parts}',
  'subject.no_day_left': '{warehouse}: kein Tag mehr vor der Grenze, dem {date}, {count, plural, one {# Arbeit} other {# Arbeiten}}',
  'subject.hard_limit': '{warehouse}: spätestens bis zum {date} zu erledigen, {count, plural, one {# Arbeit} other {# Arbeiten}}',
  'subject.safety_finding': '{warehouse}: {count, plural, one {Sicherheitsbefund an {label}} other {# Sicherheitsbefunde}}',
  'subject.hand_over': '{warehouse}: Post an {name} kommt nicht mehr an',
  'count.late': '{count, plural, one {# Arbeit überfällig} other {# Arbeiten überfällig}}',
  'count.passed_on': '{count, plural, one {# Arbeit an Sie weitergegeben} other {# Arbeiten an Sie weitergegeben}}',
  'count.due': '{count, plural, one {# Arbeit fällig} other {# Arbeiten fällig}}',
  'count.coming_due': '{count, plural, one {# Arbeit bald fällig} other {# Arbeiten bald fällig}}',
  'count.month_list': '{count, plural, one {# Maschine im Rundgang dieses Monats} other {# Maschinen im Rundgang dieses Monats}}',
  'count.month_left': '{count, plural, one {# Maschine in diesem Monat noch offen} other {# Maschinen in diesem Monat noch offen}}',
  'count.parts': '{count, plural, one {# Teil bis zum {date} zu bestellen} other {# Teile bis zum {date} zu bestellen}}',
  'count.maybe_said': '{count, plural, one {# Zeile, die Sie vielleicht schon haben} other {# Zeilen, die Sie vielleicht schon haben}}',
  'count.nothing': 'es ist nichts mehr offen',
  greeting: 'Guten Tag {name},',
  lead: '{warehouse}, {date}: {parts}.',
  'lead.hard_limit':
    '{warehouse}: {count, plural, one {# Arbeit kann bis zum {date} gemacht werden und danach nicht mehr.} other {# Arbeiten können bis zum {date} gemacht werden und danach nicht mehr.}}',
  'lead.no_day_left':
    '{warehouse}: {count, plural, one {Für # Arbeit bleibt kein Tag, an dem sie vor ihrer Grenze gemacht werden darf.} other {Für # Arbeiten bleibt kein Tag, an dem sie vor ihrer Grenze gemacht werden dürfen.}}',
  'lead.safety_finding':
    '{warehouse}: {count, plural, one {An einer Maschine wurde etwas Unsicheres gefunden.} other {An # Maschinen wurde etwas Unsicheres gefunden.}}',
  'lead.hand_over':
    'Post an {name} kommt nicht mehr an. {count, plural, one {# Maschine von {warehouse} geht} other {# Maschinen von {warehouse} gehen}} an Sie, bis Sie jemanden bestimmen.',
  'section.late': 'Überfällig',
  'section.passed_on': 'An Sie weitergegeben',
  'section.due': 'Fällig',
  'section.coming_due': 'Bald fällig',
  'section.month_list': 'Rundgang dieses Monats',
  'section.month_left': 'In diesem Monat noch offen',
  'section.parts': 'Zu bestellende Teile',
  'section.maybe_said': 'Das haben Sie vielleicht schon',
  'note.maybe_said': 'Eine frühere Nachricht brach bei der Übergabe ab; niemand kann wissen, ob sie bei Ihnen angekommen ist.',
  'line.care': '{place}{label}: {task}. {when}',
  'line.place': '{station}, ',
  'line.for': 'Für {name}, zurzeit nicht da.',
  'when.due': 'Fällig am {date}.',
  'when.was_due': 'Fällig war sie am {date}.',
  'when.due_range': 'Wahrscheinlich fällig am {date}, zwischen dem {early} und dem {late}.',
  'when.due_from_now': 'Wahrscheinlich fällig am {date}, möglich an jedem Tag bis zum {late}.',
  'when.late': 'Überfällig seit dem {since}; fällig war sie am {date}.',
  'when.hard_limit': 'Spätestens bis zum {limit} zu erledigen.',
  'when.do_by': 'Bis zum {date} zu erledigen: Es ist der letzte Tag, an dem es vor der Grenze, dem {limit}, gemacht werden darf.',
  'when.no_day_left':
    'Vor der Grenze, dem {limit}, bleibt kein Tag, an dem es gemacht werden darf: Entscheiden Sie, ob es trotzdem gemacht wird.',
  'when.past_hard_limit': 'Der letztmögliche Tag war der {limit}; eine Administratorin oder ein Administrator muss entscheiden.',
  'when.first_look_missed': 'Der erste Blick, geplant für den {date}, wurde versäumt.',
  'when.earlier': 'Früher als gesagt: jetzt fällig am {date}.',
  'when.found': 'Als unsicher gefunden.',
  'line.month': '{place}{label}: {tasks} ({minutes, plural, one {# Minute} other {# Minuten}})',
  'line.month_each': 'An jeder, wenn nichts anderes dabeisteht: {tasks} ({minutes, plural, one {# Minute} other {# Minuten}}).',
  'line.month_same': '{place}{label}',
  'line.month_link': 'Rundgang {month} öffnen',
  'note.month_link':
    'Nichts ist vorab angekreuzt; die Antworten werden auf Ihren Namen geschrieben, {name}. Der Link gehört nur Ihnen und endet am {date}.',
  'line.month_left':
    '{count, plural, one {# Maschine des Rundgangs dieses Monats ist noch offen.} other {# Maschinen des Rundgangs dieses Monats sind noch offen.}}',
  'line.part': '{count} × {name} ({code}), zu bestellen bis zum {date}.',
  more: '{count, plural, one {Und # weitere auf dem Schreibtisch.} other {Und # weitere auf dem Schreibtisch.}}',
  'link.desk': 'Alles auf dem Schreibtisch ansehen',
  'footer.why': 'Sie erhalten dies, weil Sie für die Erinnerungen von {warehouse} benannt sind.',
  'footer.unsubscribe': 'Diese Nachrichten abbestellen',
  'footer.calendar': 'Die angehängte Kalenderdatei zeigt dieselben Tage. Sie ist eine Ansicht: sie erinnert niemanden.',
  'subject.queue_stuck': 'Tapewarden: was hinausgehen soll, steht still',
  'lead.queue_stuck':
    '{messages, plural, =0 {Keine Nachricht wartet auf den Versand} one {# Nachricht ist fällig und nicht versandt} other {# Nachrichten sind fällig und nicht versandt}}, und {reminders, plural, =0 {keine Erinnerung wartet} one {# Erinnerung wartet} other {# Erinnerungen warten}} darauf, in eine Nachricht zu kommen. Seit {seconds, plural, one {# Sekunde} other {# Sekunden}} hat sich nichts bewegt.',
  'note.queue_stuck':
    'Diese Nachricht ging an der Warteschlange vorbei. Ob Warteschlange und Arbeitsprozesse antworten, zeigt die Seite zum Zustand. „npm run rebuild-queue“ stellt jeden Auftrag neu ein und schadet nie; keine Nachricht geht dadurch zweimal hinaus.',
  'subject.workers_silent': 'Tapewarden: keine Nachricht geht hinaus, kein Arbeitsprozess antwortet',
  'lead.workers_silent':
    'Seit {seconds, plural, one {# Sekunde} other {# Sekunden}} hat sich kein Arbeitsprozess gemeldet. {messages, plural, =0 {Keine Nachricht wartet auf den Versand} one {# Nachricht ist fällig und nicht versandt} other {# Nachrichten sind fällig und nicht versandt}}, und {reminders, plural, =0 {keine Erinnerung wartet} one {# Erinnerung wartet} other {# Erinnerungen warten}} darauf, in eine Nachricht zu kommen.',
  'note.workers_silent':
    'Die Seiten arbeiten weiter, und was eingetragen wird, bleibt erhalten. Bis wieder ein Arbeitsprozess läuft, wird kein Termin neu berechnet und geht keine Nachricht hinaus. Starten Sie einen, oder sehen Sie nach, warum die laufenden stillstehen: was wartet, geht dann von selbst hinaus, nichts davon zweimal. Diese Nachricht hat der Prozess gesendet, der die Seiten ausliefert.',
  'subject.not_in_time': '{warehouse}: eine Nachricht an {name} ging nicht rechtzeitig hinaus',
  'lead.not_in_time':
    'Die Nachricht vom {date} an {name} über {warehouse} ließ sich zwei Tage lang nicht senden und wurde aufgegeben: {reason} Was darin stand und noch offen ist, steht in der nächsten Sammelnachricht.',
  'footer.account': 'Sie erhalten dies, weil Sie hier für die Erinnerungen einstehen. Es lässt sich nicht abbestellen.',
  'subject.test_mail': '{warehouse}: eine Probenachricht von Tapewarden',
  'lead.test_mail':
    '{asker} hat dies gesandt, um zu sehen, ob Nachrichten Sie erreichen. Sie sind für die Erinnerungen von {warehouse} benannt; sie kommen von dieser Adresse.',
  'footer.test_mail':
    'Durch diese Nachricht wird nichts fällig, und sie braucht keine Antwort. Lag sie bei der unerwünschten Post, lassen Sie ihre Adresse zu.',
  'subject.webhook_off': 'Tapewarden: {name} erfährt nichts mehr',
  'lead.webhook_off':
    'Seit drei Tagen ist bei {host} ({name}) nichts angekommen. Es ist jetzt abgeschaltet, und was darauf wartete, wurde aufgegeben. Die letzte Antwort: {reason} Unter Set-up, Word to other programs, können Sie es probieren und wieder einschalten.',
  'subject.sign_in_changed': 'Tapewarden: Ihre Anmeldung wurde geändert',
  'lead.sign_in_changed.password': 'Das Passwort Ihres Kontos wurde am {date} um {time} UTC geändert. Alle anderen Sitzungen sind beendet.',
  'lead.sign_in_changed.codes_on': 'Für Ihr Konto wurden am {date} um {time} UTC Einmalcodes eingeschaltet.',
  'lead.sign_in_changed.codes_off':
    'Für Ihr Konto wurden am {date} um {time} UTC die Einmalcodes ausgeschaltet: es genügt wieder das Passwort.',
  'lead.sign_in_changed.recovery_codes':
    'Für Ihr Konto wurden am {date} um {time} UTC neue Ersatzcodes erzeugt. Die früheren gelten nicht mehr.',
  'lead.sign_in_changed.passkey_added': 'Zu Ihrem Konto kam am {date} um {time} UTC ein Passkey hinzu. Er meldet ohne das Passwort an.',
  'lead.sign_in_changed.passkey_forgotten': 'Von Ihrem Konto wurde am {date} um {time} UTC ein Passkey entfernt.',
  'lead.sign_in_changed.taken_away':
    '{by} hat am {date} um {time} UTC Einmalcodes, Passkeys und fremde Anmeldungen von Ihrem Konto genommen: es genügt wieder das Passwort. Alle Sitzungen sind beendet.',
  'note.sign_in_changed':
    'Waren Sie das selbst oder haben Sie darum gebeten, ist nichts zu tun. Wenn nicht: setzen Sie bei der Anmeldung unter „Forgotten the password?“ ein neues Passwort, beenden Sie die Sitzungen auf der Seite Ihres Kontos, und sagen Sie es noch heute Ihrer Administration.',
  'footer.sign_in_changed': 'Dies geht an alle, deren Anmeldung sich ändert. Es lässt sich nicht abbestellen.',
  'link.health': 'Ansehen, was stillsteht',
  'count.work_orders': '{count, plural, one {# Arbeitsauftrag an Sie erteilt} other {# Arbeitsaufträge an Sie erteilt}}',
  'section.work_orders': 'An Sie erteilte Arbeitsaufträge',
  'line.order': '{place}{label}: Arbeitsauftrag {number}, {tasks}.',
  'line.order_planned': '{place}{label}: Arbeitsauftrag {number}, {tasks}; geplant für den {date}.',
  'calendar.name': 'Pflege, {warehouse}',
  'calendar.summary': '{label}: {task}',
  'calendar.view':
    'Dieser Kalender ist eine Ansicht der Termine, wie sie stehen. Er erinnert niemanden und kann Stunden alt sein: es gelten die Erinnerungsnachricht und der Schreibtisch.',
  'calendar.done': 'Erledigt: {label}: {task}',
  'calendar.cancelled': 'Nicht mehr fällig: {label}: {task}',
  'calendar.round': 'Rundgang {month}: {count, plural, one {# Maschine} other {# Maschinen}}',
  'calendar.round_cancelled': 'Kein Rundgang im {month}',
  'calendar.round_open':
    '{open, plural, =0 {Jede Maschine hat ihre Antwort.} one {# Maschine ist noch offen.} other {# Maschinen sind noch offen.}}',
  'calendar.visit': 'Besuch von {name}: {count, plural, =0 {noch kein Arbeitsauftrag} one {# Arbeitsauftrag} other {# Arbeitsaufträge}}',
  'calendar.visit_open':
    'Besuch, noch niemand benannt: {count, plural, =0 {noch kein Arbeitsauftrag} one {# Arbeitsauftrag} other {# Arbeitsaufträge}}',
  'calendar.visit_done': '{done} von {count, plural, one {# Arbeitsauftrag} other {# Arbeitsaufträgen}} erledigt.',
  'unsubscribe.ask': 'Erinnerungen abbestellen?',
  'unsubscribe.what':
    'Was fällig wird, geht dann an die andere für die Halle benannte Person. Dringende Nachrichten, etwa ein Sicherheitsbefund, kommen weiterhin zu Ihnen.',
  'unsubscribe.button': 'Meine Erinnerungen abbestellen',
  'unsubscribe.done': 'Die Erinnerungen sind abbestellt',
  'unsubscribe.back': 'Sie erhalten keine Erinnerungen mehr. Auf dem Schreibtisch, unter Ihrem Namen, können Sie sie wieder einschalten.',
  'account.invitation.subject': '{organisation} lädt Sie zu Tapewarden ein',
  'account.invitation.lead':
    '{inviter} von {organisation} lädt Sie zu Tapewarden ein; dort wird die Pflege der Klebestreifengeber geführt.',
  'account.invitation.link': 'Ihr Kennwort wählen',
  'account.invitation.note': 'Der Link gilt einmal und sieben Tage lang. Haben Sie keine Einladung erwartet, tun Sie nichts.',
  'account.reset.subject': 'Ein neues Kennwort für Tapewarden',
  'account.reset.lead': 'Für Ihr Konto bei {organisation} wurde ein neues Kennwort angefordert.',
  'account.reset.link': 'Ein neues Kennwort wählen',
  'account.reset.note': 'Der Link gilt einmal und eine Stunde lang. Waren Sie es nicht, tun Sie nichts: Ihr Kennwort bleibt, wie es ist.',
}
