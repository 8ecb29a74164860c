//! What papers and payments are for.
//!
//! The method, in this order. A paper belongs to the sale of a quote: by a person's decision, else by the
//! number of the quote where it stands, else by seller, buyer, gross and day. A payment clears our
//! invoices: by decision, else by numbers of invoices and quotes in its references (ISO 11649 among
//! them) and in what the payer wrote, else by party, amount and day ([`by_amount`]). Where two
//! matches are equally good neither is taken; it becomes a question.
//!
//! Every look-up is by a sorted key or a hash, so the cost is that of sorting: n log n.

// Reading order: each module uses only those above it.
mod question;
mod numbers;
mod subset;
mod papers;
mod open;
mod payments;
mod by_amount;

pub use question::{Undecided, Why};

pub(crate) use numbers::Numbers;
pub(crate) use open::{Open, OpenItems};
pub(crate) use papers::{OfSale, Papers, Standing, Written, deal_numbers, deal_of, signed};
pub(crate) use payments::{Allocation, Matching, State, payment_document};

use crate::error::Unreconciled;
use crate::loaded::Loaded;
use crate::rates::Rates;
use crate::terms::{Decision, Terms};

/// Matches payments to our invoices.
pub(crate) fn payments<'m, 'a>(
    loaded: &'m Loaded<'a>,
    papers: &Papers<'a>,
    numbers: &Numbers,
    rates: &'m Rates,
    terms: &'m Terms,
    decisions: &[Decision],
) -> Result<Matching<'m, 'a>, Unreconciled> {
    let open = OpenItems::new(loaded, papers, terms)?;
    let mut matching = Matching::new(loaded, open, rates, terms);
    matching.decided(decisions)?;
    matching.by_reference(numbers)?;
    by_amount::reversals(&mut matching)?;
    by_amount::by_amount(&mut matching, loaded)?;
    matching.hold_rates()?;
    matching.open = matching.open.without_numbers();
    Ok(matching)
}
