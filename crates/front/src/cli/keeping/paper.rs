//! `evenfare paper` of what is kept.

use evenfare_engine::tariff::Edition;
use evenfare_files::Stationery;
use evenfare_store::invoice::Invoice;
use evenfare_store::number::Number;
use evenfare_store::{InvoiceFilter, InvoiceListing, Sight, Store};

use super::place::{failure, with_store_there};
use super::quote::{edition, missing, no_quote};
use crate::cli::args::paper::PaperArgs;
use crate::cli::outcome::Failure;
use crate::kept::{NotRead, sight};
use crate::paper::{Asked, Document, Kind, NotMade};
use crate::serve::papers::{Found, Kept};

/// How many invoices of a quote are named, the last first.
const NAMED: u32 = 10;

/// Why there is no such document, where the quote or the invoice is there.
pub(in crate::cli) enum NoDocument {
    /// It cannot be read.
    Failure(Failure),
    /// It cannot be made.
    NotMade(NotMade),
}

impl From<Failure> for NoDocument {
    fn from(failure: Failure) -> Self {
        Self::Failure(failure)
    }
}

impl From<NotRead> for NoDocument {
    fn from(error: NotRead) -> Self {
        Self::Failure(error.into())
    }
}

/// The document of a number: what is asked for, or what the number is of where nothing is said.
pub(in crate::cli) fn document(
    number: &Number,
    args: &PaperArgs,
    asked: Asked,
) -> Result<Document, NoDocument> {
    let (kept, priced_by, asked) =
        with_store_there(&args.kept.place, async |store| Ok(found(&*store, number, args, asked).await))??;
    let (edition, stationery) = priced_by.unzip();
    kept.document(&stationery.unwrap_or_default(), edition.as_ref(), &asked).map_err(|error| match error {
        // Like a partner, the customer does not even learn that there is another's invoice.
        NotMade::NotHis { kind } if kind.is_of_books() => missing(number, &args.kept).into(),
        error => NoDocument::NotMade(error),
    })
}

async fn found(
    store: &dyn Store,
    number: &Number,
    args: &PaperArgs,
    asked: Asked,
) -> Result<(Kept, Option<(Edition, Stationery)>, Asked), NoDocument> {
    let sight = sight(&asked.reader);
    let mut found = None;
    if !args.kind.is_some_and(Kind::is_of_books) {
        found = Found::quote(store, number, args.kept.which(), &sight).await?;
    }
    if found.is_none() && args.kind.is_none_or(Kind::is_of_books) {
        found = Found::invoice(store, number, &sight).await?;
    }
    let Some(found) = found else { return Err(other(store, number, args, &asked).await?.into()) };
    let edition = edition(store, found.edition()).await?;
    let kept = found.opened()?;
    let asked = Asked { kind: args.kind.unwrap_or(kept.kind()), ..asked };
    Ok((kept, edition, asked))
}

/// Why there is none of that kind: whoever may see all of them is told what the number is of.
async fn other(
    store: &dyn Store,
    number: &Number,
    args: &PaperArgs,
    asked: &Asked,
) -> Result<Failure, Failure> {
    let all = asked.reader.sees_all();
    let Some(kind) = args.kind.filter(|_| all) else { return Ok(missing(number, &args.kept)) };
    if !kind.is_of_books() {
        return no_quote(store, number, &args.kept, &asked.reader).await;
    }
    if store.entry(number, None, &Sight::All).await.map_err(failure)?.is_none() {
        return Ok(missing(number, &args.kept));
    }
    let filter = InvoiceFilter { quote: Some(number.clone()), ..InvoiceFilter::default() };
    let listing = InvoiceListing { sight: Sight::All, filter, before: None, limit: NAMED };
    let invoices = store.invoices(&listing).await.map_err(failure)?.invoices;
    let named = |one: &Invoice| match &one.credited {
        None => one.number.to_string(),
        Some(credit_note) => format!("{} (taken back by {credit_note})", one.number),
    };
    let invoices = invoices.iter().filter(|one| one.billed.preceding.is_none());
    let has = match invoices.map(named).collect::<Vec<_>>().as_slice() {
        [] => String::from("it has no invoice yet"),
        invoices => format!("invoiced by {}", invoices.join(", ")),
    };
    Ok(Failure::Usage(format!("{number} is a quote; {has}")))
}
