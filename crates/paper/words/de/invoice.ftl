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
your-vat-id = Ihre USt‑IdNr.
supply-planned = Versand geplant am
unit-price = Einzelpreis
price-of-quantity = { $price } je { $quantity }
exchange-for = Austauschgerät: { $family }, im Tausch gegen Seriennummer { $serial }
vat-national = Umsatzsteuer in der Währung des Landes des Verkäufers: { $amount } ({ $rates }).
rate-of-euro = 1 EUR = { $rate } am { $date }
