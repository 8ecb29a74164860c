//! Lists page by page: whose, which, how many, and where a page begins.

use std::fmt::Display;
use std::str::FromStr;

use evenfare_store::{Filter, InvoiceFilter, InvoiceListing, Listing, Sight};

use super::ask::{fingerprint, read};
use super::refusal::Refusal;
use crate::wire::message::{Message, unknown};
use crate::wire::mistakes::Objection;
use crate::wire::pb;

/// How many entries are on a page where nothing is said,
const USUAL: u32 = 100;
/// and at most.
const MOST: u32 = 1_000;

/// A page of quotes.
pub(super) fn quotes(
    sight: &Sight,
    filter: Option<&pb::QuoteFilter>,
    size: i32,
    token: &str,
) -> Result<Listing, Refusal> {
    let none = pb::QuoteFilter::default();
    let wire = filter.unwrap_or(&none);
    read(|at| {
        let filter = at.message("filter", Some(wire), "", |mut at, wire: &pb::QuoteFilter| {
            let series = at.if_said("series", Some(&wire.series));
            let reference = at.if_said("reference", Some(&wire.reference));
            let states = at.list("states", &wire.states, |mut at, number| {
                let state = pb::QuoteState::try_from(*number).ok().and_then(pb::QuoteState::said);
                state.or_else(|| at.refuse(unknown(*number, "a state, from 1 to 5")))
            });
            let quoted_from = at.day_if_said("quoted_from", wire.quoted_from.as_ref());
            let quoted_until = at.day_if_said("quoted_until", wire.quoted_until.as_ref());
            Some(Filter {
                series: series?,
                reference: reference?,
                states: states?,
                quoted_from: quoted_from?,
                quoted_until: quoted_until?,
            })
        });
        let (limit, before) = (limit(at, size, USUAL), begins(at, token, sight, wire));
        Some(Listing { sight: sight.clone(), filter: filter?, before: before?, limit: limit? })
    })
}

/// A page of invoices.
pub(super) fn invoices(
    sight: &Sight,
    filter: Option<&pb::InvoiceFilter>,
    size: i32,
    token: &str,
) -> Result<InvoiceListing, Refusal> {
    let none = pb::InvoiceFilter::default();
    let wire = filter.unwrap_or(&none);
    read(|at| {
        let filter = at.message("filter", Some(wire), "", |mut at, wire: &pb::InvoiceFilter| {
            let quote = at.if_said("quote_number", Some(&wire.quote_number));
            let series = at.if_said("series", Some(&wire.series));
            let issued_from = at.day_if_said("issued_from", wire.issued_from.as_ref());
            let issued_until = at.day_if_said("issued_until", wire.issued_until.as_ref());
            Some(InvoiceFilter {
                series: series?,
                quote: quote?,
                issued_from: issued_from?,
                issued_until: issued_until?,
            })
        });
        let (limit, before) = (limit(at, size, USUAL), begins(at, token, sight, wire));
        let (sight, filter) = (sight.clone(), filter?);
        Some(InvoiceListing { sight, filter, before: before?, limit: limit? })
    })
}

/// A page of the editions that there are, and the token of the next.
pub(super) fn editions(
    all: &[pb::TariffEdition],
    size: i32,
    token: &str,
) -> Result<(Vec<pb::TariffEdition>, String), Refusal> {
    // Whoever knows of no pages is sent as many as there may be. A page begins after a number of them: none comes in
    // before another.
    let (limit, begin) = read(|at| {
        let (limit, begin) = (limit(at, size, MOST), begins(at, token, &Sight::All, &()));
        Some((usize::try_from(limit?).ok()?, begin?.unwrap_or(0_usize)))
    })?;
    let rest = all.get(begin..).unwrap_or_default();
    let page = rest.get(..limit).unwrap_or(rest);
    let end = begin.saturating_add(page.len());
    let next = if end < all.len() { self::token(&end, &Sight::All, None::<&()>) } else { String::new() };
    Ok((page.to_vec(), next))
}

fn limit(at: &mut Message<'_>, size: i32, usual: u32) -> Option<u32> {
    match u32::try_from(size) {
        Ok(0) => Some(usual),
        Ok(size) if size <= MOST => Some(size),
        _ => {
            let expected = format!("a number from 0 to {MOST}");
            at.at("page_size").refuse(Objection::new("out_of_range", size.to_string(), expected))
        }
    }
}

/// After what a page begins; nothing for the first.
fn begins<K: FromStr>(
    at: &mut Message<'_>,
    token: &str,
    sight: &Sight,
    filter: &impl prost::Message,
) -> Option<Option<K>> {
    if token.is_empty() {
        return Some(None);
    }
    let last = from_token(token, sight, filter);
    if last.is_none() {
        let expected = "the token of the page before, with the same filter";
        at.at("page_token").refuse::<()>(Objection::new("not_a_page_token", "", expected));
    }
    last.map(Some)
}

/// A token is what it belongs to, and what the page before ended on: the number of a quote or an invoice. A partner's
/// own number tells him nothing new. A number tells by its series whether the list was one of quotes or of invoices.
pub(super) fn token<F: prost::Message + Default>(
    last: &impl Display,
    sight: &Sight,
    filter: Option<&F>,
) -> String {
    let none = F::default();
    let text = format!("{}{last}", belonging(sight, filter.unwrap_or(&none)));
    text.bytes().map(|byte| format!("{byte:02x}")).collect()
}

fn from_token<K: FromStr>(token: &str, sight: &Sight, filter: &impl prost::Message) -> Option<K> {
    let pairs = token.as_bytes().chunks(2);
    let byte = |pair: &[u8]| u8::from_str_radix(std::str::from_utf8(pair).ok()?, 16).ok();
    let text = String::from_utf8(pairs.map(byte).collect::<Option<_>>()?).ok()?;
    text.strip_prefix(&belonging(sight, filter))?.parse().ok()
}

fn belonging(sight: &Sight, filter: &impl prost::Message) -> String {
    let whose = match sight {
        Sight::All => "",
        Sight::Partner(code) => code.as_str(),
    };
    fingerprint(whose, filter).to_string().chars().take(16).collect()
}
