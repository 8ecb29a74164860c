## Invoice and credit note.

invoice-number = Číslo faktury
credit-note-number = Číslo opravného dokladu
issued-on = Datum vystavení
due-on = Datum splatnosti
supplied-on = Datum plnění
quote-number = Nabídka
payment = Platba
payable-within = Splatné do { $days ->
    [one] { $days } dne
    [few] { $days } dnů
    [many] { $days } dne
   *[other] { $days } dnů
}, bez srážek.
payable-at-once = Splatné ihned, bez srážek.
amount-due = K úhradě
amount-credited = Dobropisovaná částka
account-holder = Majitel účtu
bank = Banka
iban = IBAN
bic = BIC
payment-reference = Zpráva pro příjemce
takes-back = Tento opravný doklad ruší fakturu { $number } ze dne { $date }.
vat-breakdown = Rekapitulace DPH
your-order = Vaše objednávka
your-vat-id = Vaše DIČ
supply-planned = Plánované odeslání
unit-price = Jednotková cena
price-of-quantity = { $price } za { $quantity }
exchange-for = Výměnná jednotka: { $family }, výměnou za výrobní číslo { $serial }
vat-national = DPH v měně země prodávajícího: { $amount } ({ $rates }).
rate-of-euro = 1 EUR = { $rate } ke dni { $date }
