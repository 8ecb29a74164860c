//! From the wire to the engine: a quote as it was kept.
//!
//! Only what the office sees is a whole quote. It is read field by field, its sums are checked again
//! when it is sealed, and what it says twice has to agree.

mod units;
mod working;
mod offer;

use evenfare_engine::UnderTheFloor;
use evenfare_engine::money::{Amount, Currency};
use evenfare_engine::quote::{Draft, Quote, Standing};
use evenfare_engine::tariff::Party;
use evenfare_engine::view::{Reader, view};
use prost::Message as _;

use super::InvalidQuote;
use crate::wire::field::quoted;
use crate::wire::message::Message;
use crate::wire::mistakes::{Mistakes, Objection};
use crate::wire::pb;
use crate::wire::written::WrittenQuote;

/// Reads a quote back from what the office saw of it: the same quote, from which every reader's view
/// follows. Obeys `a_kept_quote_is_the_quote`.
///
/// # Errors
/// [`InvalidQuote`] where the message is another reader's, damaged, or contradicts itself: every
/// field that is wrong at once, or the first sum that does not hold.
///
/// # Examples
/// ```
/// use evenfare::wire::{InvalidQuote, pb};
/// use evenfare_engine::quote::Quote;
///
/// let nothing = Quote::try_from(&pb::Quote::default()).unwrap_err();
/// let problem = &nothing.problems()[0];
/// assert_eq!((problem.place.as_str(), problem.code), ("reference", "missing_field"));
/// ```
impl TryFrom<&pb::Quote> for Quote {
    type Error = InvalidQuote;

    fn try_from(wire: &pb::Quote) -> Result<Self, InvalidQuote> {
        let mut mistakes = Mistakes::default();
        let draft = draft(Message::outermost(&mut mistakes), wire);
        let problems = std::mem::take(&mut mistakes).into_problems();
        let quote = match draft {
            Some(draft) if problems.is_empty() => draft.seal().map_err(InvalidQuote::Unsealed)?,
            _ => return Err(InvalidQuote::Fields(problems)),
        };
        agrees(Message::outermost(&mut mistakes), wire, &quote);
        let problems = mistakes.into_problems();
        if problems.is_empty() { Ok(quote) } else { Err(InvalidQuote::Fields(problems)) }
    }
}

fn draft(mut at: Message<'_>, wire: &pb::Quote) -> Option<Draft> {
    let reference = at.needed("reference", &wire.reference);
    let standing = match (wire.revision, wire.reversal) {
        (0, _) => {
            let expected = "1 for the first quote, then one more for each correction";
            at.at("revision").refuse(Objection::missing(expected))
        }
        (number, false) => Some(Standing::Revision(number)),
        (number, true) => Some(Standing::Reversal(number)),
    };
    let edition = at.needed("edition", &wire.edition);
    let currency = at.needed("currency", &wire.currency_code);
    let received = at.day("received", wire.received.as_ref());
    let quoted = at.day("quoted", wire.quoted.as_ref());
    let valid_until = at.day("valid_until", wire.valid_until.as_ref());
    let dispatch = at.day("dispatch", wire.dispatch.as_ref());
    let tax_date = at.day("tax_date", wire.tax_date.as_ref());
    let workshop = at.message("workshop", wire.workshop.as_ref(), "the workshop", party);
    let route = at.message("route", wire.route.as_ref(), "the partners on the route", |mut at, route| {
        at.entries(&route.partners, party)
    });
    let customer = at.message("customer", wire.customer.as_ref(), "the end customer", party);
    // Without its currency no amount can be told.
    let currency = currency?;
    let main =
        at.message("main", wire.main.as_ref(), "the job itself", |at, wire| offer::offer(at, wire, currency));
    let others = at.list("alternatives", &wire.alternatives, |at, wire| offer::offer(at, wire, currency));
    let refused = at.list("refused", &wire.refused, |at, wire| refused(at, wire, currency));
    let mut offers = vec![main?];
    offers.extend(others?);
    Some(Draft {
        reference: reference?,
        standing: standing?,
        edition: edition?,
        currency,
        received: received?,
        quoted: quoted?,
        valid_until: valid_until?,
        dispatch: dispatch?,
        tax_date: tax_date?,
        workshop: workshop?,
        route: route?,
        customer: customer?,
        offers,
        refused: refused?,
    })
}

fn party(mut at: Message<'_>, wire: &pb::Party) -> Option<Party> {
    let code = at.needed("code", &wire.code);
    let name = at.needed("name", &wire.name);
    let vat_id = at.line_if_said("vat_id", wire.vat_id.as_deref());
    let street = at.needed("street", &wire.street);
    let postcode = at.needed("postcode", &wire.postcode);
    let city = at.needed("city", &wire.city);
    let country = at.needed("country", &wire.country_code);
    let language = at.if_said("language", wire.language_code.as_deref());
    Some(Party {
        code: code?,
        name: name?,
        street: street?,
        postcode: postcode?,
        city: city?,
        country: country?,
        vat_id: vat_id?,
        language: language?,
    })
}

fn refused(mut at: Message<'_>, wire: &pb::RefusedOffer, currency: Currency) -> Option<UnderTheFloor> {
    let offer = at.line("id", &wire.id);
    let end_net = money(&mut at, "end_net", wire.end_net.as_ref(), currency);
    let shares = money(&mut at, "shares", wire.shares.as_ref(), currency);
    let available = money(&mut at, "available", wire.available.as_ref(), currency);
    let refused_by = at.needed("refused_by", wire.refused_by.as_deref().unwrap_or_default());
    Some(UnderTheFloor {
        offer: offer?,
        end_net: end_net?,
        shares: shares?,
        available: available?,
        refused_by: refused_by?,
    })
}

/// An amount that has to be there, in the currency of the quote.
fn money<K>(
    at: &mut Message<'_>,
    field: &'static str,
    wire: Option<&pb::Money>,
    currency: Currency,
) -> Option<Amount<K>> {
    at.message(field, wire, "an amount; only the office's quote has all of them", |mut at, money| {
        if money.currency_code != currency.code() {
            let expected = format!("{currency}, the currency of the quote");
            return at.refuse(Objection::new("other_currency", quoted(&money.currency_code), expected));
        }
        let too_large = || Objection::new("too_large", money.amount_minor.to_string(), "an amount in range");
        Amount::from_minor(money.amount_minor).map_err(|_| too_large()).map_or_else(|o| at.refuse(o), Some)
    })
}

/// What follows from other figures is said as it follows from them.
fn agrees(mut at: Message<'_>, wire: &pb::Quote, quote: &Quote) -> Option<()> {
    let mut seen = view(quote, &Reader::Office)?;
    // Nothing follows from the working.
    [&mut seen.main].into_iter().chain(&mut seen.alternatives).for_each(|offer| offer.working.clear());
    let expected = pb::Quote::decode(WrittenQuote::from(&seen).as_bytes()).ok()?;
    at.message("main", wire.main.as_ref(), "", |at, wire| offer::agrees(at, wire, expected.main?));
    let mut others = expected.alternatives.into_iter();
    at.list("alternatives", &wire.alternatives, |at, wire| offer::agrees(at, wire, others.next()?));
    Some(())
}
