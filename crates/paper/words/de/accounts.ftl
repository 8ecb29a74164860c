## Account statements and the overview of margins.

account-statement = Kontoauszug
account = Konto
period = Zeitraum
statement-provisional = Vorläufig: Dieser Monat ist noch nicht abgeschlossen.
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
differences-note = Festgestellt beim Abgleich von Angeboten, Rechnungen und Zahlungen. Beträge sind das Festgestellte abzüglich des Vereinbarten, soweit nicht anders angegeben.
what-differs = Was abweicht
difference = Abweichung
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
reason-unpaid = Die Rechnung ist fällig und nicht vollständig bezahlt.
reason-overpaid = Es wurde mehr gezahlt, als die Rechnung verlangt.
reason-payment-unknown = Es ging Geld ein, das zu nichts Bekanntem gehört.
reason-courier = Der Kurier hat einen anderen Betrag berechnet als angeboten.
reason-courier-unknown = Der Kurier hat eine Beförderung berechnet, die zu keinem Angebot gehört.
reason-credit-for-our-work = Für Arbeit, die die Werkstatt selbst geleistet oder bezahlt hat, wurde etwas gutgeschrieben. Der Betrag ist diese Gutschrift.
reason-rounding = Die Beträge weichen höchstens um eine zulässige Rundung ab.
reason-currency = Die Währung ist nicht die vereinbarte, oder der Kurs liegt zu weit vom Referenzkurs.

# Work on site and carriage.
work-removal = Ausbau
work-refitting = Einbau
work-diagnosis = Diagnose

# The overview.
margin-overview = Margenübersicht
until-day = (vereinbart, abzurechnen bis { $date })
all-quotes = Alle Angebote
quotes = Angebote
end-prices = Endpreise
partners-shares = Partneranteile
by-partner = Nach Partner
by-family = Nach Baureihe
by-route = Nach Verkaufsweg
over-time = Im Zeitverlauf
direct-route = Direkt
family = Baureihe
month = Monat
bars-of-shares = Die Balken zeigen, was jeder Partner behält. Ein Angebot mit zwei Partnern zählt für beide.
bars-of-contribution = Die Balken zeigen den Deckungsbeitrag: was der Werkstatt über ihre Kosten hinaus bleibt.
largest-only = Gezeigt sind die { $count } größten.
last-months = Das Diagramm zeigt die letzten { $count } Monate.
nothing-agreed = Bis { $date } war kein angenommenes Angebot abzurechnen.
