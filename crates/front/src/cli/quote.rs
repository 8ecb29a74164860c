//! `evenfare quote`: one quote for one reader, of a job or as it is kept.

use evenfare_engine::money::Currency;
use evenfare_engine::view::{OfferView, View};
use serde::Serialize;

use super::args::{Format, QuoteArgs, QuoteOf};
use super::input::{self, Became, Seen};
#[cfg(feature = "serve")]
use super::keeping;
use super::mistakes;
use super::outcome::{Answer, Failure, json};
use super::text::quote::{Sheet, page};

/// A quote for programs: what became of it, where it is kept, and what its reader sees.
#[derive(Serialize)]
struct Told<'a> {
    #[serde(flatten)]
    became: Option<&'a Became>,
    #[serde(flatten)]
    view: &'a View,
    /// What the file of a job says and the job leaves out.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    warnings: Vec<mistakes::Told<'a>>,
}

/// Shows it.
pub(super) fn run(args: &QuoteArgs) -> Result<Answer, Failure> {
    let (of, format) = (&args.of, args.printed.format);
    if of.offer.is_some() && format == Format::Json {
        return Err(Failure::Usage(String::from(
            "--offer goes with --format text; the JSON holds every offer",
        )));
    }
    let Seen { view, became, unread, note } = seen(of)?;
    let text = match format {
        Format::Json => {
            let warnings = unread.iter().map(mistakes::Told::from).collect();
            json(&Told { became: became.as_ref(), view: &view, warnings })?
        }
        Format::Text => {
            let offer = offer_of(&view, of.offer.as_deref())?;
            let (reader, currency) = (of.sight.reader(), currency_of(&view)?);
            let kept = became.map(|became| became.said);
            page(Sheet { view: &view, offer, reader, currency, kept: kept.as_deref() })
        }
    };
    Ok(Answer::new(text).with_note(note))
}

/// Prices the job, or opens the quote of that number.
pub(super) fn seen(of: &QuoteOf) -> Result<Seen, Failure> {
    #[cfg(feature = "serve")]
    if let Some(number) = keeping::place::number(&of.what, &of.by, &of.kept)? {
        return keeping::quote::seen(&number, &of.sight, &of.kept);
    }
    let tariff = of.by.folder();
    let input = input::read(&of.what, &tariff)?;
    let view = input.sight(&of.sight)?;
    let (unread, note) = (input.unread().clone(), input.note(&tariff));
    Ok(Seen { view, became: None, unread, note })
}

/// The job itself, or the alternative of that name.
pub(super) fn offer_of<'v>(view: &'v View, name: Option<&str>) -> Result<&'v OfferView, Failure> {
    let Some(name) = name else { return Ok(&view.main) };
    view.offer(name).ok_or_else(|| {
        if view.refused.iter().any(|refused| refused.offer == name) {
            return Failure::Refused(format!("an agreement on this route refuses the alternative {name}"));
        }
        let names: Vec<&str> = view.offers().map(|offer| &*offer.offer).collect();
        Failure::Usage(format!("the quote has no offer `{name}`; it has {}", names.join(", ")))
    })
}

/// The currency of a quote's amounts.
pub(super) fn currency_of(view: &View) -> Result<Currency, Failure> {
    view.currency.parse().map_err(|_| Failure::Internal(format!("{} is no currency", view.currency)))
}
