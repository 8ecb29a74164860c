//! Quotes that were tried, as lines of text, each column described.

use evenfare_engine::money::{Net, Overflow};

use super::proposal::Tried;
use crate::overview::Margin;

/// The columns of a line, and what stands in each. Amounts are of the quote's currency, with all its decimals.
pub const COLUMNS: [(&str, &str); 20] = [
    ("number", "The quote's number."),
    ("revision", "Which revision stands."),
    ("reference", "The job's reference."),
    ("quoted", "The day of the quote."),
    ("edition", "The edition that priced it."),
    ("offer", "The offer that is compared: the accepted one, or main."),
    (
        "route",
        "The partners, nearest to the workshop first, with a space between; empty for the direct route.",
    ),
    ("currency", "ISO 4217 code of the quote."),
    ("end_net_then", "The end price before VAT, as it was issued."),
    (
        "end_net_now",
        "The same by the edition that is tried; this and the others of now are empty where it is refused.",
    ),
    ("shares_then", "What the partners keep of it."),
    ("shares_now", "The same by the edition that is tried."),
    ("workshop_net_then", "What the workshop keeps of it."),
    ("workshop_net_now", "The same by the edition that is tried."),
    ("cost_then", "What the workshop spends."),
    ("cost_now", "The same by the edition that is tried."),
    ("contribution_then", "What the workshop keeps over its cost."),
    ("contribution_now", "The same by the edition that is tried."),
    ("refused", "Why there would have been no quote, by a stable name; else empty."),
    ("reason", "The same in words."),
];

/// A quote as a line, in the order of [`COLUMNS`].
///
/// # Errors
/// [`Overflow`] where an amount is beyond what an amount may be.
pub fn line(tried: &Tried) -> Result<[String; COLUMNS.len()], Overflow> {
    let amount = |margin: &Margin, of: fn(&Margin) -> i64| {
        Ok(Net::from_minor(of(margin))?.in_major_units(tried.currency))
    };
    let both = |of| {
        let now = tried.now.as_ref().map_or_else(|_| Ok(String::new()), |now| amount(now, of))?;
        Ok::<_, Overflow>([amount(&tried.then, of)?, now])
    };
    let objection = tried.now.as_ref().err();
    let [end_then, end_now] = both(|margin| margin.end_net_minor)?;
    let [shares_then, shares_now] = both(|margin| margin.shares_minor)?;
    let [workshop_then, workshop_now] = both(|margin| margin.workshop_net_minor)?;
    let [cost_then, cost_now] = both(|margin| margin.cost_minor)?;
    let [contribution_then, contribution_now] = both(Margin::contribution_minor)?;
    Ok([
        tried.number.to_string(),
        tried.revision.to_string(),
        tried.reference.to_string(),
        tried.quoted.to_string(),
        tried.edition.to_string(),
        tried.offer.to_string(),
        tried.route.join(" "),
        tried.currency.to_string(),
        end_then,
        end_now,
        shares_then,
        shares_now,
        workshop_then,
        workshop_now,
        cost_then,
        cost_now,
        contribution_then,
        contribution_now,
        objection.map_or_else(String::new, |objection| objection.code.to_owned()),
        objection.map_or_else(String::new, |objection| objection.text.clone()),
    ])
}
