## Account statements and the overview of margins.

account-statement = Kontoauszug
account-statement-of = Kontoauszug für { $month }
account = Konto
period = Zeitraum
provisional = Vorläufig: Dieser Monat ist noch nicht abgeschlossen.
opening-balance = Anfangssaldo
closing-balance = Endsaldo
movement = Vorgang
document = Beleg
charged = Berechnet
credited = Gezahlt oder gutgeschrieben
balance = Saldo
nothing-moved = In diesem Monat gab es auf diesem Konto keine Bewegung.
balance-ours = Saldo zu unseren Gunsten: { $amount }
balance-yours = Saldo zu Ihren Gunsten: { $amount }
balance-none = Das Konto ist ausgeglichen.

# What is open at the end of the month.
open-items = Offene Posten
due-date = Fällig am
open-amount = Offen
open-advance = Anzahlung
open-later = Eine Buchung eines späteren Monats gleicht dies aus oder berichtigt es.

# What moved an account.
movement-invoice-corrected = Berichtigung einer Rechnung
movement-payment-returned = Rückzahlung
movement-payment-corrected = Berichtigung einer Zahlung
movement-bank-charges = Bankspesen
movement-courier-bill = Kurierrechnung
movement-bonus = Mengenbonus
movement-bonus-less = Mengenbonus, berichtigt
movement-bonus-paid = Mengenbonus, ausgezahlt
movement-rounding = Rundung ausgebucht
entered-late = Vom { $date }; hier gebucht, weil jener Monat abgeschlossen war.

# Differences.
differences = Abweichungen
differences-asked = Nichts in dieser Liste kommt zum obigen Saldo hinzu. Bitte prüfen Sie jeden Punkt, und berichtigen Sie ihn oder antworten Sie uns.
differences-note = Festgestellt beim Abgleich von Angeboten, Rechnungen und Zahlungen. Beträge sind das Festgestellte abzüglich des Vereinbarten, soweit nicht anders angegeben.
what-differs = Was abweicht
difference = Abweichung
was-agreed = Vereinbart
was-found = Festgestellt
work-done = Geleistete Arbeit
reason-charged-more = Dem Endkunden wurde mehr als der Festpreis berechnet.
reason-charged-less = Dem Endkunden wurde weniger als der Festpreis berechnet.
reason-share-beyond = Dem Partner wurde weniger als vereinbart berechnet, sein Anteil ist daher größer als vereinbart. Der Betrag betrifft den Anteil.
reason-share-below = Dem Partner wurde mehr als vereinbart berechnet, sein Anteil ist daher kleiner als vereinbart. Der Betrag betrifft den Anteil.
reason-agreement-date = Der Anteil folgt einer Vereinbarung, die an diesem Tag nicht galt. Der Betrag betrifft den Anteil.
reason-vat-category = Die Umsatzsteuer ist von anderer Art als vereinbart. Der Betrag betrifft die Umsatzsteuer.
reason-vat-rate = Die Umsatzsteuer hat einen anderen Satz als vereinbart. Der Betrag betrifft die Umsatzsteuer.
reason-vat-amount = Die Umsatzsteuer ergibt sich nicht aus ihrem Satz. Der Betrag betrifft die Umsatzsteuer.
reason-invoice-missing = Zu diesem Verkauf fehlt die Rechnung, obwohl ihr Tag verstrichen ist.
reason-invoice-double = Zu diesem Verkauf gibt es eine zweite Rechnung.
reason-invoice-reversed = Es gibt eine Rechnung zu einem Verkauf, der zurückgenommen wurde.
reason-invoice-unknown = Die Rechnung gehört zu keinem Angebot.
reason-invoice-other-party = Die Rechnung geht an einen anderen Geschäftspartner als den Käufer laut Angebot.
reason-credit-other-party = Die Rechnungskorrektur nennt eine Rechnung oder ein Angebot eines anderen Geschäftspartners und mindert sie nicht.
reason-unpaid = Die Rechnung ist fällig und nicht vollständig bezahlt.
reason-overpaid = Es wurde mehr gezahlt, als die Rechnung verlangt.
reason-overpaid-in-advance = Für ein Angebot, das zurückgenommen wurde, ist im Voraus gezahlt worden; der Betrag ist zu erstatten.
reason-payment-unknown = Es ging Geld ein, das zu nichts Bekanntem gehört.
reason-paid-unknown = Es ging Geld hinaus, das zu nichts Bekanntem gehört.
reason-in-transit = Geld ging von einem Konto der Werkstatt auf ein anderes, und die Gegenbuchung fehlt.
reason-courier = Der Kurier hat einen anderen Betrag berechnet als angeboten.
reason-courier-unknown = Der Kurier hat eine Beförderung berechnet, die zu keinem Angebot gehört.
reason-credit-for-our-work = Für Arbeit, die die Werkstatt selbst geleistet oder bezahlt hat, wurde etwas gutgeschrieben. Der Betrag ist diese Gutschrift.
reason-rounding = Die Beträge weichen höchstens um eine zulässige Rundung ab.
reason-currency = Die Währung ist nicht die vereinbarte, oder der Kurs liegt zu weit vom Referenzkurs.

# Work on site and carriage.
work-removal = Ausbau
work-refitting = Einbau
work-diagnosis = Diagnose

# Volume bonuses.
bonus-of-year = Mengenbonus { $year }
bonus-turnover = Umsatz des Jahres bisher, netto
bonus-step = Erreichte Stufe
bonus-due = Bonus bisher
bonus-this-month = Davon in diesem Monat
bonus-trued-up = Davon Nachberechnung für frühere Monate
bonus-missing = Es fehlen zur nächsten Stufe: { $percent } ab { $amount }

# The overview.
margin-overview = Margenübersicht
until-day = (vereinbart, abzurechnen bis { $date })
all-quotes = Alle Angebote
quotes = Angebote
end-prices = Endpreise
partners-shares = Partneranteile
by-partner = Nach Partner
by-family = Nach Baureihe
by-route = Nach Vertriebsweg
over-time = Im Zeitverlauf
invoiced = Abgerechnet
to-be-invoiced = Abzurechnen
all-months = Alle Monate
invoiced-note = Abzurechnen ist, was der Werkstatt von vereinbarten Angeboten bleibt, im Monat, bis zu dessen Ende sie abzurechnen sind; abgerechnet ist, was als Erlös gebucht ist, netto.
direct-route = Direkt
family = Baureihe
month = Monat
bars-of-shares = Die Balken zeigen, was jeder Partner behält. Ein Angebot mit zwei Partnern zählt für beide.
bars-of-contribution = Die Balken zeigen den Deckungsbeitrag: was der Werkstatt über ihre Kosten hinaus bleibt.
largest-only = Gezeigt sind die { $count } größten.
last-months = Das Diagramm zeigt die letzten { $count } Monate.
nothing-agreed = Bis { $date } war kein angenommenes Angebot abzurechnen.

# What changed under closed months.
changed-since = Seit dem Abschluss geändert
changed-note = Was abgeschlossene Monate enthalten und was jetzt bekannt ist. Auf Konten steht Soll über null, Haben darunter.
changed-gone = Entfallen: Den Beleg gibt es nicht mehr
changed-different = Geändert: Der Beleg sagt nicht mehr, was er sagte
changed-late = Verspätet: Der Beleg eines abgeschlossenen Monats lag noch nicht vor
changed-follows = Folge: Kein eigener Beleg hat sich geändert, aber wofür er gilt oder worauf er beruht
changed-of = aus { $closed }, abgeschlossen; zählt zum { $date }
changed-account = { $account }: { $month } wurde mit dem Konto { $was } abgeschlossen; jetzt ist es { $is }. Abgeschlossene Monate behalten ihres.
how-it-changed = Art der Änderung
closed-month = Abgeschlossener Monat
counts-for = Zählt zum
party = Geschäftspartner
amount-of = Betrag
was = Bisher
is-now = Jetzt
changed-by = Änderung
account-receivable = Forderungen an Partner und Kunden
account-revenue = Erlöse aus Reparaturen
account-vat-payable = Berechnete Umsatzsteuer
account-bank = Bank
account-bank-charges = Bankspesen
account-exchange = Kursdifferenzen
account-unapplied = Noch nicht zugeordnete Zahlungen
account-clearing = Verrechnung mit der übrigen Buchhaltung
account-courier-cost = Kurierkosten
account-courier-payable = Verbindlichkeiten an Kuriere
account-bonus = Mengenboni
account-bonus-payable = Partnern geschuldete Boni
account-rounding = Rundungsdifferenzen
account-transit = Umbuchungen zwischen eigenen Konten
