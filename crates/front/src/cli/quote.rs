//! `evenfare quote`: one job, one route, one reader.

use evenfare_engine::money::Currency;
use evenfare_engine::view::{OfferView, View};

use super::args::{Format, QuoteArgs};
use super::input;
use super::outcome::{Answer, Failure, json};
use super::text::quote::{Sheet, page};

/// Prices the job and shows it.
pub(super) fn run(args: &QuoteArgs) -> Result<Answer, Failure> {
    if args.offer.is_some() && args.format == Format::Json {
        return Err(Failure::Usage(String::from(
            "--offer goes with --format text; the JSON holds every offer",
        )));
    }
    let input = input::read(&args.sources.job, &args.sources.tariff)?;
    let view = input.sight(&args.sight)?;
    let text = match args.format {
        Format::Json => json(&view)?,
        Format::Text => {
            let offer = offer_of(&view, args.offer.as_deref())?;
            page(Sheet { view: &view, offer, reader: &args.sight.reader, currency: currency_of(&view)? })
        }
    };
    Ok(Answer::new(text).with_note(input.note(&args.sources.tariff)))
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
