## Account statements and the overview of margins.

account-statement = Account statement
account-statement-of = Account statement for { $month }
account = Account
period = Period
provisional = Provisional: this month is not closed yet.
opening-balance = Opening balance
closing-balance = Closing balance
movement = Movement
document = Document
charged = Charged
credited = Paid or credited
balance = Balance
nothing-moved = Nothing moved on this account in this month.
balance-ours = Balance in our favour: { $amount }
balance-yours = Balance in your favour: { $amount }
balance-none = The account is settled.

# What is open at the end of the month.
open-items = Open items
due-date = Due
open-amount = Open
open-advance = Advance payment
open-later = An entry of a later month settles or corrects this.

# What moved an account.
movement-invoice-corrected = Correction of an invoice
movement-payment-returned = Payment returned
movement-payment-corrected = Correction of a payment
movement-bank-charges = Bank charges
movement-courier-bill = Courier bill
movement-bonus = Volume bonus
movement-bonus-less = Volume bonus, trued up
movement-bonus-paid = Volume bonus, paid out
movement-rounding = Rounding written off
entered-late = Of { $date }; entered here because that month was closed.

# Differences.
differences = Differences
differences-asked = Nothing in this list is added to the balance above. Please check each item, and correct it or tell us what is right.
differences-note = Found when quotes, invoices and payments were held against each other. Amounts are what was found less what was agreed, unless it is said otherwise.
what-differs = What differs
difference = Difference
was-agreed = Agreed
was-found = Found
work-done = Work done
reason-charged-more = The end customer was charged more than the fixed price.
reason-charged-less = The end customer was charged less than the fixed price.
reason-share-beyond = The partner was charged less than agreed, so the share is larger than agreed. The amount is of the share.
reason-share-below = The partner was charged more than agreed, so the share is smaller than agreed. The amount is of the share.
reason-agreement-date = The share follows an agreement that was not in force on that day. The amount is of the share.
reason-vat-category = VAT is of another category than agreed. The amount is of the VAT.
reason-vat-rate = VAT is charged at another rate than agreed. The amount is of the VAT.
reason-vat-amount = The VAT is not what its rate comes to. The amount is of the VAT.
reason-invoice-missing = There is no invoice for this sale, although its day is past.
reason-invoice-double = There is a second invoice for this sale.
reason-invoice-reversed = There is an invoice for a sale that was taken back.
reason-invoice-unknown = The invoice belongs to no quote.
reason-invoice-other-party = The invoice is to another party than the one who bought by the quote.
reason-credit-other-party = The credit note names an invoice or a quote of another party and takes nothing off it.
reason-unpaid = The invoice is due and not paid in full.
reason-overpaid = More was paid than the invoice asks for.
reason-overpaid-in-advance = It was paid in advance for a quote that was taken back, and is to be given back.
reason-payment-unknown = Money came in that is for nothing known.
reason-paid-unknown = Money went out that is for nothing known.
reason-in-transit = Money went from one account of the workshop to another, and the other side is not there.
reason-courier = The courier billed another amount than was quoted.
reason-courier-unknown = The courier billed carriage that belongs to no quote.
reason-credit-for-our-work = A credit was given for work that the workshop did or paid itself. The amount is the credit.
reason-rounding = The amounts differ by no more than rounding may.
reason-currency = The currency is not the one agreed, or was converted too far from the reference rate.

# Work on site and carriage.
work-removal = Removal
work-refitting = Refitting
work-diagnosis = Diagnosis

# Volume bonuses.
bonus-of-year = Volume bonus { $year }
bonus-turnover = Turnover of the year so far, net
bonus-step = Step reached
bonus-due = Bonus so far
bonus-this-month = Of it, this month
bonus-trued-up = Of that, trued up for earlier months
bonus-missing = Missing to the next step: { $percent } from { $amount }

# The overview.
margin-overview = Overview of margins
until-day = (agreed, to be invoiced by { $date })
all-quotes = All quotes
quotes = Quotes
end-prices = End prices
partners-shares = Partners’ shares
by-partner = By partner
by-family = By family
by-route = By route
over-time = Over time
invoiced = Invoiced
to-be-invoiced = To be invoiced
all-months = All months
invoiced-note = To be invoiced is what the workshop keeps of quotes agreed, in the month by whose end they are to be invoiced; invoiced is what is posted as revenue, net.
direct-route = Direct
family = Family
month = Month
bars-of-shares = The bars show what each partner keeps. A quote of two partners counts for both.
bars-of-contribution = The bars show the contribution: what the workshop keeps over its cost.
largest-only = The { $count } largest are shown.
last-months = The chart shows the last { $count } months.
nothing-agreed = No accepted quote was to be invoiced until { $date }.

# What changed under closed months.
changed-since = Changed since closed
changed-note = What closed months have, and what is known now. On accounts a debit is above nothing, a credit below.
changed-gone = Gone: the paper is there no more
changed-different = Different: the paper does not say what it said
changed-late = Late: the paper of a closed month was not there yet
changed-follows = Follows: no paper of its own changed, but what it is for, or what it rests on
changed-of = of { $closed }, which is closed; counts for { $date }
changed-account = { $account }: { $month } was closed with account { $was }; it is { $is } now. Closed months keep theirs.
how-it-changed = How it changed
closed-month = Closed month
counts-for = Counts for
party = Party
amount-of = Amount
was = Was
is-now = Is
changed-by = By
account-receivable = Receivables from partners and customers
account-revenue = Revenue from repairs
account-vat-payable = VAT charged
account-bank = Bank
account-bank-charges = Bank charges
account-exchange = Exchange differences
account-unapplied = Payments not yet applied
account-clearing = Clearing with the rest of the books
account-courier-cost = Courier
account-courier-payable = Payable to couriers
account-bonus = Volume bonuses
account-bonus-payable = Bonuses owed to partners
account-rounding = Rounding differences
account-transit = Transfers between own accounts
