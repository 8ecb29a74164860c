//! What papers and payments are for.
//!
//! A paper belongs to the sale of a quote: by a person's decision, else by the number of the quote where it
//! stands, else by seller, buyer, currency, gross and a day at most 45 days from the one it was to be written
//! on, else by the invoices that it names: a credit note takes them back, an invoice comes in their place. A credit note
//! that names nothing is of the only invoice of its seller, buyer, currency and gross that is at most 45 days older.
//!
//! A payment clears our invoices, in this order:
//!
//! 1. by a person's decision; what goes from one account of ours to another clears none. Where nothing but the list of
//!    accounts says that the other side is ours, and it names an invoice or a quote or is of a party, it is asked. Which
//!    side of a transfer is of which, [`transit`](crate::transit) says;
//! 2. by numbers of invoices and quotes in its references and in what the payer wrote, however they are spaced
//!    and cased, creditor references of ISO 11649 among them; where several are named and not all that is
//!    left is paid, the first due is cleared first, and where they are of several parties it is asked. A credit note
//!    stands for what it was taken off, and what is owed the other way is set against the others. Where
//!    the payer is known, by his account or name, and is neither the buyer of an invoice that is named nor on
//!    the route of its quote, it is asked; so is money to somebody who is not known and paid nothing for those whose
//!    papers are named, for the number may be his own; to a courier it is for what he billed. A quote without an
//!    invoice is paid in advance, unless the payer is known and nobody on its route, or quotes of several buyers are
//!    named. Where all that is named asks for the payment
//!    together, each takes its own; else the invoices take it or, without any, the first quote. What goes out by the number
//!    of a quote goes back of its papers, also of an invoice that was taken back, where one of them was paid too much or
//!    nothing is held for the quote; else of what is held;
//! 3. a reversal, by account, other side and opposite amount, or an entry as a whole by its sum; of what no other reversal
//!    took back by 1. or 2. What is taken back by 2. is taken back as it was paid; and what 2. asks about is not asked
//!    where it is taken back;
//! 4. what goes out to who paid in advance for a quote that was taken back, of what is held of him for it, gives it back;
//!    so does what several of these, and of invoices that he paid too much, come to together. What is a part of one, or
//!    in another currency, is asked;
//! 5. by who paid, known by his account or name, and how much: what is left of one invoice, of several
//!    together, or of one by several payments, or what was left of one before a credit note of a later day, or, of the only
//!    one that can take it, a part, or all and no more besides than may be written off. An invoice is written at most 7 days
//!    after its payment;
//! 6. what goes out to who paid, of an amount that came in from him for nothing known, returns that; so does what comes in
//!    from a party that is known, of an amount that went out to it so, where it has no bonus.
//!
//! Where two matches are equally good neither is taken; it becomes a question ([`Undecided`]). What it may be for is in
//! question then: it is not told as unpaid or as overpaid as well, and by party and amount it takes another payment only
//! where that is all that is left of it; what else only such an invoice could take is asked too. Combinations
//! are tried among at most 24 invoices or payments of a party, which takes two times 2^12 sums; where there
//! are more, it is asked. Every look-up is by a sorted key or a hash, so the cost is that of sorting:
//! n log n.

// Reading order: each module uses only those above it.
mod question;
mod numbers;
mod subset;
mod written;
mod credited;
mod standing;
mod preceding;
mod papers;
mod open;
mod payments;
mod asked;
mod shared_out;
mod advances;
mod by_reference;
mod by_decision;
mod contradicted;
mod undone;
mod reversed;
mod payers;
mod before_credits;
mod by_amount;
mod returned;
mod refunds;

pub use question::{Undecided, Why};

pub(crate) use advances::Advances;
pub(crate) use numbers::{ByNumber, Last, Numbers, Reader, packed};
pub(crate) use open::{For, Open, OpenItems, Taken};
pub(crate) use papers::{Decided, Papers, deal_numbers, decided};
pub(crate) use payments::{Allocation, Held, Matching, OtherSide, State, TOLD, payment_document};
pub(crate) use written::{By, OfSale, Standing, Written, author, deal_of, signed};

use crate::error::Unreconciled;
use crate::loaded::Loaded;
use crate::rates::Rates;
use crate::terms::{Decision, Terms};
use crate::threads::Threads;

/// Matches payments to our invoices.
pub(crate) fn payments<'m, 'a>(
    loaded: &'m Loaded<'a>,
    open: OpenItems<'a>,
    numbers: &Numbers,
    rates: &'m Rates,
    terms: &'m Terms,
    decisions: &[Decision],
    threads: Threads,
) -> Result<Matching<'m, 'a>, Unreconciled> {
    let mut matching = Matching::new(loaded, open, rates, terms);
    let (later, back) = matching.decided(loaded, numbers, decisions)?;
    let mut contradicted = matching.transfers(loaded, numbers);
    contradicted.extend(matching.by_reference(loaded, numbers, threads)?);
    back.iter().try_for_each(|of_quote| matching.decided_of_quote(of_quote))?;
    for payment in later {
        matching.set_if_new(payment, State::Unknown);
    }
    let contradicted = matching.give_back_to_strangers(loaded, contradicted)?;
    reversed::reversals(&mut matching, loaded, decisions)?;
    matching.ask_contradicted(loaded, contradicted)?;
    refunds::refunds(&mut matching, loaded)?;
    by_amount::by_amount(&mut matching, loaded)?;
    returned::returned(&mut matching, loaded);
    matching.answer_by_what_is_left()?;
    // One payment's after the other's: nearly all stand so already, and a stable sort goes by that.
    matching.allocations.sort();
    matching.held.sort();
    matching.merge();
    matching.open = matching.open.without_numbers();
    Ok(matching)
}
