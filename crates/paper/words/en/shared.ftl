## What any document says.

# Kinds of documents, as their headings.
quote = Quote
partner-sheet = Partner sheet
office-sheet = Office sheet
bench-sheet = Bench sheet
invoice = Invoice
credit-note = Credit note

# The head.
number = Number
revision = Revision
reference = Reference
edition = Tariff edition
date = Date
page = Page { $page } of { $pages }
received = Received on
valid-until = Valid until
dispatch = Dispatch
tax-date = Tax date
internal = Internal, not to be sent
currency = Currency

# A document that does not stand.
reversed = Reversed: this document takes quote { $number } back.
draft = Draft: this quote has no number yet and was not issued.
superseded = Superseded: a later revision of this quote is in force.

# Parties.
seller = Seller
buyer = Buyer
customer = Customer
partner = Partner
workshop = Workshop
work-done-by = The work is done by { $workshop }.
vat-id = VAT identifier
phone = Phone
email = Email
web = Web
managing-directors = Managing directors

# Units.
serial = Serial number
task = Task
task-refresh = Repair and refresh
task-exchange = Exchange unit
task-decline = Returned as it came

# Columns of tables.
description = Description
quantity = Quantity
position = Position
code = Code
net = Net
vat = VAT
rate = Rate
base = Taxable amount
tax = VAT amount
gross = Gross

# How much.
days = { $count }{"\u00A0"}{ $count ->
    [one] day
   *[other] days
}
cycles = { $count }{"\u00A0"}{ $count ->
    [one] duty cycle
   *[other] duty cycles
}
unit-pc = { $count ->
    [one] pc
   *[other] pcs
}
unit-set = { $count ->
    [one] set
   *[other] sets
}
unit-m = m
unit-cm = cm
unit-ml = ml
unit-g = g
unit-min = min
unit-h = h

# Why no VAT is charged.
vat-reverse-charge = Reverse charge
vat-intra-community = Intra-Community supply of goods, exempt under Article 138 of Directive 2006/112/EC
vat-export = Export of goods, exempt from VAT
vat-not-subject = Not subject to VAT in the seller’s country
vat-charged = VAT { $rate }

# What somebody should know. Words for a partner or a customer alone stand with those of his sheet.
notes = Notes
flag-uneconomic = The repair costs more than the tariff’s share of a new unit.
flag-under-floor = The end price leaves less than the minimum contribution.
flag-shares-scaled = The partners’ shares were scaled down to keep the workshop’s minimum.
flag-wear-unknown = Parts whose age or wear could not be read count as worn.
flag-under-warranty = Work is free under the warranty of an earlier job.
flag-vat-not-known = No VAT rate is known for the end customer’s country.
flag-goods-in-chain = Goods cross a border through a chain of sellers: have the VAT of each sale confirmed.
flag-several-invoices = A sale needs two invoices: what is not subject to VAT stands on one of its own.

# Of lines and figures.
taken-back = Reversed: this quote was taken back.
whole-job = The whole job
vat-category = Category
rounding-half-up = rounded half up
rounding-largest-remainder = shared out by largest remainder
rounding-ending = taken to the price ending

# What is put together of parts.
labelled = { $label }: { $text }
both = { $first }; { $next }
