## Invoice and credit note.

invoice-number = Invoice number
credit-note-number = Credit note number
issued-on = Date of issue
due-on = Payment due on
supplied-on = Date of supply
quote-number = Quote
payment = Payment
payable-within = Payable within { $days ->
    [one] { $days } day
   *[other] { $days } days
}, without deduction.
payable-at-once = Payable at once, without deduction.
amount-due = Amount due
amount-credited = Amount credited
account-holder = Account holder
bank = Bank
iban = IBAN
bic = BIC
payment-reference = Payment reference
takes-back = This credit note takes back invoice { $number } of { $date }.
vat-breakdown = VAT breakdown
your-order = Your order
your-vat-id = Your VAT ID
supply-planned = Dispatch planned for
unit-price = Unit price
price-of-quantity = { $price } per { $quantity }
exchange-for = Exchange unit: { $family }, in exchange for serial number { $serial }
vat-national = VAT in the currency of the seller’s country: { $amount } ({ $rates }).
rate-of-euro = EUR 1 = { $rate } on { $date }
