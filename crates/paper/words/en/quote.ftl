## The end customer's quote.

found = What was found
done = What is replaced and done
why = Why
in-all = { $quantity } in all
price = Price
alternatives = Alternatives
alternative = Alternative: { $name }
main-offer = As quoted
alternatives-note = One of these can be accepted; the others then lapse.
choose = Please mark the one you accept.
alternatives-differ = Below stands what each of them does otherwise than the job as quoted. All else is the same.
other-way = Alternative
found-further = Found or asked for in addition
lines-as-quoted = All other lines, as quoted
lines-left-out = Lines as quoted that fall away
net-total = Total net
gross-total = Total
vat-due-by-buyer = VAT of { $rate } is due in your country and is declared by you.
vat-note = The VAT treatment stated here follows from what we know of seller, buyer and supply; it has to be confirmed by a licensed tax adviser.
warranty = Warranty
warranty-months = Warranty from { $from } until { $until }.
warranty-cycles = It ends earlier after { $cycles ->
    [one] { $cycles } duty cycle
   *[other] { $cycles } duty cycles
} counted from { $from }.
warranty-excludes = Not covered by the warranty: { $excluded }.
warranty-none = No warranty is given for a unit that is returned as it came.
warranty-as-quoted = As stated above for the job as quoted.
warranty-open = Returned under the warranty of quote { $quote }, open until { $until }.
warranty-cycles-left = { $cycles ->
    [one] { $cycles } duty cycle of it is left.
   *[other] { $cycles } duty cycles of it are left.
}
validity = Validity
validity-text = This quote can be accepted until { $date }.
delivery = Delivery
acceptance = Acceptance
acceptance-text = We accept the quote and order the work.
place-and-date = Place and date
name-and-signature = Name and signature
work = What was found and what is done
alternative-head = Way to do it
warranty-until = Warranty until { $until }
flag-vat-not-known-customer = No VAT rate of your country is known to us.
flag-goods-in-chain-customer = Goods cross a border through a chain of sellers: have the VAT of your purchase confirmed.
