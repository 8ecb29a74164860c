## Invoice and credit note.

invoice-number = Rechnungsnummer
credit-note-number = Nummer der Korrektur
issued-on = Ausstellungsdatum
due-on = Zahlbar bis
supplied-on = Leistungsdatum
quote-number = Angebot
payment = Zahlung
payable-within = Zahlbar innerhalb von { $days ->
    [one] { $days } Tag
   *[other] { $days } Tagen
} ohne Abzug.
payable-at-once = Sofort zahlbar ohne Abzug.
amount-due = Zahlbetrag
amount-credited = Gutgeschriebener Betrag
account-holder = Kontoinhaber
bank = Bank
iban = IBAN
bic = BIC
payment-reference = Verwendungszweck
takes-back = Diese Rechnungskorrektur nimmt Rechnung { $number } vom { $date } zurück.
vat-breakdown = Aufschlüsselung der Umsatzsteuer
your-order = Ihre Bestellung
