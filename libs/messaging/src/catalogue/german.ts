import type { Sentences } from './english.js'

export const GERMAN: Sentences = {
  'subject.digest': '{warehouse}, {date}: {parts}',
  'subject.no_day_left': '{warehouse}: kein Tag mehr vor Ablauf der Frist am {date}, {count, plural, one {# Arbeit} other {# Arbeiten}}',
  'subject.hard_limit': '{warehouse}: spätestens bis zum {date} zu erledigen, {count, plural, one {# Arbeit} other {# Arbeiten}}',
  'subject.safety_finding': '{warehouse}: {count, plural, one {Sicherheitsbefund an {label}} other {# Sicherheitsbefunde}}',
  'subject.hand_over': '{warehouse}: E-Mails an {name} kommen nicht mehr an',
  'count.late': '{count, plural, one {# Arbeit überfällig} other {# Arbeiten überfällig}}',
  'count.passed_on': '{count, plural, one {# Arbeit an Sie weitergegeben} other {# Arbeiten an Sie weitergegeben}}',
  'count.due': '{count, plural, one {# Arbeit fällig} other {# Arbeiten fällig}}',
  'count.coming_due': '{count, plural, one {# Arbeit bald fällig} other {# Arbeiten bald fällig}}',
  'count.month_list': '{count, plural, one {# Maschine im Rundgang dieses Monats} other {# Maschinen im Rundgang dieses Monats}}',
  'count.month_left': '{count, plural, one {# Maschine in diesem Monat noch offen} other {# Maschinen in diesem Monat noch offen}}',
  'count.parts': '{count, plural, one {# Teil bis zum {date} zu bestellen} other {# Teile bis zum {date} zu bestellen}}',
  'count.maybe_said': '{count, plural, one {# Eintrag, den Sie vielleicht schon haben} other {# Einträge, die Sie vielleicht schon haben}}',
  'count.nothing': 'es ist nichts mehr offen',
  greeting: 'Guten Tag {name},',
  lead: '{warehouse}, {date}: {parts}.',
  'lead.hard_limit':
    '{warehouse}: {count, plural, one {# Arbeit kann bis zum {date} erledigt werden und danach nicht mehr.} other {# Arbeiten können bis zum {date} erledigt werden und danach nicht mehr.}}',
  'lead.no_day_left':
    '{warehouse}: {count, plural, one {Für # Arbeit bleibt kein Tag, an dem sie vor Ablauf ihrer Frist erledigt werden darf.} other {Für # Arbeiten bleibt kein Tag, an dem sie vor Ablauf ihrer Frist erledigt werden dürfen.}}',
  'lead.safety_finding':
    '{warehouse}: {count, plural, one {An einer Maschine wurde etwas Unsicheres gefunden.} other {An # Maschinen wurde etwas Unsicheres gefunden.}}',
  'lead.hand_over':
    'E-Mails an {name} kommen nicht mehr an. {count, plural, one {# Maschine von {warehouse} geht} other {# Maschinen von {warehouse} gehen}} an Sie, bis Sie jemanden bestimmen.',
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
  'line.for': 'Für {name}, zurzeit abwesend.',
  'when.due': 'Fällig am {date}.',
  'when.was_due': 'Fällig war sie am {date}.',
  'when.due_range': 'Wahrscheinlich fällig am {date}, zwischen dem {early} und dem {late}.',
  'when.due_from_now': 'Wahrscheinlich fällig am {date}, möglich an jedem Tag bis zum {late}.',
  'when.late': 'Überfällig seit dem {since}; fällig war sie am {date}.',
  'when.hard_limit': 'Spätestens bis zum {limit} zu erledigen.',
  'when.do_by': 'Bis zum {date} zu erledigen: Es ist der letzte Tag, an dem es vor Ablauf der Frist am {limit} erledigt werden darf.',
  'when.no_day_left':
    'Vor Ablauf der Frist am {limit} bleibt kein Tag, an dem es erledigt werden darf: Entscheiden Sie, ob es trotzdem erledigt wird.',
  'when.past_hard_limit': 'Der letztmögliche Tag war der {limit}; eine Administratorin oder ein Administrator muss entscheiden.',
  'when.first_look_missed': 'Die erste Durchsicht, geplant für den {date}, wurde versäumt.',
  'when.earlier': 'Früher als angekündigt: jetzt fällig am {date}.',
  'when.found': 'Als unsicher befunden.',
  'line.month': '{place}{label}: {tasks} ({minutes, plural, one {# Minute} other {# Minuten}})',
  'line.month_each': 'An jeder Maschine, wenn nichts anderes dabeisteht: {tasks} ({minutes, plural, one {# Minute} other {# Minuten}}).',
  'line.month_same': '{place}{label}',
  'line.month_link': 'Rundgang {month} öffnen',
  'note.month_link':
    'Nichts ist vorab angekreuzt; die Antworten werden unter Ihrem Namen eingetragen, {name}. Der Link ist nur für Sie und endet am {date}.',
  'line.month_left':
    '{count, plural, one {# Maschine des Rundgangs dieses Monats ist noch offen.} other {# Maschinen des Rundgangs dieses Monats sind noch offen.}}',
  'line.part': '{count} × {name} ({code}), zu bestellen bis zum {date}.',
  more: '{count, plural, one {Und # weitere in Tapewarden.} other {Und # weitere in Tapewarden.}}',
  'link.desk': 'Alles in Tapewarden ansehen',
  'footer.why': 'Sie erhalten dies, weil Sie für die Erinnerungen von {warehouse} benannt sind.',
  'footer.unsubscribe': 'Diese Nachrichten abbestellen',
  'footer.calendar': 'Die angehängte Kalenderdatei zeigt dieselben Tage. Sie ist nur eine Ansicht und erinnert niemanden.',
  'subject.queue_stuck': 'Tapewarden: Der Versand steht still',
  'lead.queue_stuck':
    '{messages, plural, =0 {Keine Nachricht wartet auf den Versand} one {# Nachricht ist fällig und nicht gesendet} other {# Nachrichten sind fällig und nicht gesendet}}, und {reminders, plural, =0 {keine Erinnerung wartet} one {# Erinnerung wartet} other {# Erinnerungen warten}} darauf, in eine Nachricht aufgenommen zu werden. Seit {seconds, plural, one {# Sekunde} other {# Sekunden}} hat sich nichts bewegt.',
  'note.queue_stuck':
    'Diese Nachricht ging an der Warteschlange vorbei. Ob Warteschlange und Arbeitsprozesse antworten, zeigt die verlinkte Seite. „npm run rebuild-queue“ reiht alles Wartende neu ein und schadet nie; keine Nachricht geht dadurch zweimal hinaus.',
  'subject.workers_silent': 'Tapewarden: Keine Nachricht geht hinaus, kein Arbeitsprozess antwortet',
  'lead.workers_silent':
    'Seit {seconds, plural, one {# Sekunde} other {# Sekunden}} hat sich kein Arbeitsprozess gemeldet. {messages, plural, =0 {Keine Nachricht wartet auf den Versand} one {# Nachricht ist fällig und nicht gesendet} other {# Nachrichten sind fällig und nicht gesendet}}, und {reminders, plural, =0 {keine Erinnerung wartet} one {# Erinnerung wartet} other {# Erinnerungen warten}} darauf, in eine Nachricht aufgenommen zu werden.',
  'note.workers_silent':
    'Die Seiten arbeiten weiter, und was eingetragen wird, bleibt erhalten. Bis wieder ein Arbeitsprozess läuft, wird kein Termin neu berechnet und geht keine Nachricht hinaus. Starten Sie einen, oder sehen Sie nach, warum die laufenden stillstehen: Was wartet, geht dann von selbst hinaus, nichts davon zweimal. Diese Nachricht hat der Prozess gesendet, der die Seiten ausliefert.',
  'subject.not_in_time': '{warehouse}: eine Nachricht an {name} ging nicht rechtzeitig hinaus',
  'lead.not_in_time':
    'Die Nachricht vom {date} an {name} über {warehouse} ließ sich zwei Tage lang nicht senden und wurde aufgegeben: {reason} Was darin stand und noch offen ist, steht in der nächsten Sammelnachricht.',
  'footer.account': 'Sie erhalten dies, weil Sie hier für die Erinnerungen verantwortlich sind. Es lässt sich nicht abbestellen.',
  'subject.test_mail': '{warehouse}: eine Testnachricht von Tapewarden',
  'lead.test_mail':
    '{asker} hat dies gesendet, um zu sehen, ob Nachrichten Sie erreichen. Sie sind für die Erinnerungen von {warehouse} benannt; sie kommen von dieser Adresse.',
  'footer.test_mail':
    'Durch diese Nachricht wird nichts fällig, und sie braucht keine Antwort. Lag sie im Spam-Ordner, lassen Sie ihren Absender zu.',
  'subject.webhook_off': 'Tapewarden: {name} erfährt nichts mehr',
  'lead.webhook_off':
    'Seit drei Tagen ist bei {host} ({name}) nichts angekommen. Es ist jetzt abgeschaltet, und was darauf wartete, wurde aufgegeben. Die letzte Antwort: {reason} Unter „Set-up“, „Word to other programs“, können Sie es erneut versuchen und wieder einschalten.',
  'subject.sign_in_changed': 'Tapewarden: Ihre Anmeldung wurde geändert',
  'lead.sign_in_changed.password': 'Das Passwort Ihres Kontos wurde am {date} um {time} UTC geändert. Alle anderen Sitzungen sind beendet.',
  'lead.sign_in_changed.codes_on': 'Für Ihr Konto wurden am {date} um {time} UTC Einmalcodes eingeschaltet.',
  'lead.sign_in_changed.codes_off':
    'Für Ihr Konto wurden am {date} um {time} UTC die Einmalcodes ausgeschaltet: Es genügt wieder das Passwort.',
  'lead.sign_in_changed.recovery_codes':
    'Für Ihr Konto wurden am {date} um {time} UTC neue Wiederherstellungscodes erzeugt. Die früheren gelten nicht mehr.',
  'lead.sign_in_changed.passkey_added':
    'Zu Ihrem Konto kam am {date} um {time} UTC ein Passkey hinzu. Damit ist die Anmeldung ohne Passwort möglich.',
  'lead.sign_in_changed.passkey_forgotten': 'Von Ihrem Konto wurde am {date} um {time} UTC ein Passkey entfernt.',
  'lead.sign_in_changed.taken_away':
    '{by} hat am {date} um {time} UTC Einmalcodes, Passkeys und Anmeldungen über andere Dienste von Ihrem Konto entfernt: Es genügt wieder das Passwort. Alle Sitzungen sind beendet.',
  'note.sign_in_changed':
    'Waren Sie das selbst oder haben Sie darum gebeten, ist nichts zu tun. Wenn nicht: Setzen Sie bei der Anmeldung unter „Forgotten the password?“ ein neues Passwort, beenden Sie die Sitzungen auf der Seite Ihres Kontos und informieren Sie noch heute Ihre Administration.',
  'footer.sign_in_changed': 'Dies geht an alle, deren Anmeldung sich ändert. Es lässt sich nicht abbestellen.',
  'link.health': 'Ansehen, was stillsteht',
  'count.work_orders': '{count, plural, one {# Arbeitsauftrag Ihnen erteilt} other {# Arbeitsaufträge Ihnen erteilt}}',
  'section.work_orders': 'Ihnen erteilte Arbeitsaufträge',
  'line.order': '{place}{label}: Arbeitsauftrag {number}, {tasks}.',
  'line.order_planned': '{place}{label}: Arbeitsauftrag {number}, {tasks}; geplant für den {date}.',
  'calendar.name': 'Wartung, {warehouse}',
  'calendar.summary': '{label}: {task}',
  'calendar.view':
    'Dieser Kalender ist eine Ansicht der Termine, wie sie stehen. Er erinnert niemanden und kann Stunden alt sein: Es gilt, was in der Erinnerung und in Tapewarden steht.',
  'calendar.done': 'Erledigt: {label}: {task}',
  'calendar.cancelled': 'Nicht mehr fällig: {label}: {task}',
  'calendar.round': 'Rundgang {month}: {count, plural, one {# Maschine} other {# Maschinen}}',
  'calendar.round_cancelled': 'Kein Rundgang im {month}',
  'calendar.round_open':
    '{open, plural, =0 {Jede Maschine hat ihre Antwort.} one {# Maschine ist noch offen.} other {# Maschinen sind noch offen.}}',
  'calendar.visit': 'Einsatz von {name}: {count, plural, =0 {noch kein Arbeitsauftrag} one {# Arbeitsauftrag} other {# Arbeitsaufträge}}',
  'calendar.visit_open':
    'Einsatz, noch niemand eingeteilt: {count, plural, =0 {noch kein Arbeitsauftrag} one {# Arbeitsauftrag} other {# Arbeitsaufträge}}',
  'calendar.visit_done': '{done} von {count, plural, one {# Arbeitsauftrag} other {# Arbeitsaufträgen}} erledigt.',
  'unsubscribe.ask': 'Erinnerungen abbestellen?',
  'unsubscribe.what':
    'Was fällig wird, geht dann an die andere für das Lager benannte Person. Dringende Nachrichten, etwa ein Sicherheitsbefund, kommen weiterhin zu Ihnen.',
  'unsubscribe.button': 'Meine Erinnerungen abbestellen',
  'unsubscribe.done': 'Die Erinnerungen sind abbestellt',
  'unsubscribe.back': 'Sie erhalten keine Erinnerungen mehr. In Tapewarden, unter Ihrem Namen, können Sie sie wieder einschalten.',
  'account.invitation.subject': '{organisation} lädt Sie zu Tapewarden ein',
  'account.invitation.lead':
    '{inviter} von {organisation} lädt Sie zu Tapewarden ein; dort wird die Wartung der Klebestreifengeber geführt.',
  'account.invitation.link': 'Ihr Passwort wählen',
  'account.invitation.note': 'Der Link gilt einmal und sieben Tage lang. Haben Sie keine Einladung erwartet, tun Sie nichts.',
  'account.reset.subject': 'Ein neues Passwort für Tapewarden',
  'account.reset.lead': 'Für Ihr Konto bei {organisation} wurde ein neues Passwort angefordert.',
  'account.reset.link': 'Ein neues Passwort wählen',
  'account.reset.note': 'Der Link gilt einmal und eine Stunde lang. Waren Sie es nicht, tun Sie nichts: Ihr Passwort bleibt, wie es ist.',
}
