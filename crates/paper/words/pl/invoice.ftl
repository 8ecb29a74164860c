## Invoice and credit note.

invoice-number = Numer faktury
credit-note-number = Numer korekty
issued-on = Data wystawienia
due-on = Termin płatności
supplied-on = Data sprzedaży
quote-number = Oferta
payment = Płatność
payable-within = Płatne w ciągu { $days ->
    [one] { $days } dnia
   *[other] { $days } dni
}, bez potrąceń.
payable-at-once = Płatne natychmiast, bez potrąceń.
amount-due = Do zapłaty
amount-credited = Kwota do zwrotu
account-holder = Właściciel rachunku
bank = Bank
iban = IBAN
bic = BIC
payment-reference = Tytuł przelewu
takes-back = Ta faktura koryguje do zera fakturę { $number } z dnia { $date }.
vat-breakdown = Zestawienie VAT
your-order = Państwa zamówienie
your-vat-id = Państwa nr VAT
supply-planned = Planowana wysyłka
unit-price = Cena jednostkowa
price-of-quantity = { $price } za { $quantity }
exchange-for = Urządzenie wymienne: { $family }, w zamian za numer seryjny { $serial }
vat-national = Kwota VAT w walucie kraju sprzedawcy: { $amount } ({ $rates }).
rate-of-euro = 1 EUR = { $rate }, { $date }
