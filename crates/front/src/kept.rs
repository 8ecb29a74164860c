//! What is kept of a quote, and what was kept read again.

use bytes::Bytes;
use evenfare_engine::job::Job;
use evenfare_engine::quote::{Offer, Quote, Standing};
use evenfare_engine::text::{Code, InvalidText};
use evenfare_engine::view::{Reader, view_of};
use evenfare_store::entry::{Content, Entry, Offered, Summary};
use evenfare_store::invoice::Sale;
use evenfare_store::refused::StoreError;
use evenfare_store::{Sight, Store};
use lz4_flex::block::{compress_prepend_size, decompress, uncompressed_size};
use prost::Message;

use crate::wire::answer;
use crate::wire::pb;

/// The first byte of a document: the form that `kept_document.proto` describes.
const FORM: u8 = 1;
/// No document is longer than that; what says it were is damaged. Nobody could issue one of a tenth of it, but
/// earlier builds took what was asked for.
const LONGEST: usize = 1 << 30;

/// A byte of a block is at most this many when it is unpacked.
const MOST_PACKED: usize = 255;

/// A document that is longer takes more than a millisecond to be opened. A usual one has some 12 KB.
const LONG: usize = 128 << 10;

/// Does it take long to open that document?
pub(crate) fn is_long(document: &[u8]) -> bool {
    document.len() > LONG
}

/// A defect: a quote that no document can be made of.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("a quote cannot be kept: {0}")]
pub(crate) struct NotKept(&'static str);

/// Why what is kept cannot be read.
#[derive(Debug, thiserror::Error)]
pub enum NotRead {
    /// The store has no answer.
    #[error(transparent)]
    Store(StoreError),
    /// What it has is damaged.
    #[error("{0}")]
    Damaged(String),
}

impl From<StoreError> for NotRead {
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::Corrupt(_) => Self::Damaged(error.to_string()),
            error => Self::Store(error),
        }
    }
}

/// What the store is handed of a quote, and what its document says.
pub(crate) fn content(job: &Job, quote: Quote) -> Result<(Content, answer::KeptDocument), NotKept> {
    let internal = NotKept;
    let main = quote.main().ok_or_else(|| internal("it has no offer"))?;
    let offered = |offer: &Offer| {
        Ok::<_, InvalidText>(Offered { id: offer.id.parse()?, net_minor: Some(offer.end.net.minor()) })
    };
    let offers = quote.offers.iter().map(offered).collect::<Result<_, _>>();
    let (revision, reversal) = match quote.standing {
        Standing::Revision(number) => (number, false),
        Standing::Reversal(number) => (number, true),
    };
    let content = Content {
        revision,
        reversal,
        reference: quote.reference.clone(),
        customer: quote.customer.name.clone(),
        edition: quote.edition.clone(),
        currency: quote.currency,
        quoted: quote.quoted,
        valid_until: quote.valid_until,
        end_net_minor: main.end.net.minor(),
        offers: offers.map_err(|_| internal("the id of an offer is no code"))?,
        partners: quote.route.iter().map(|party| party.code.clone()).collect(),
        document: Bytes::new(),
    };
    let view = view_of(quote, &Reader::Office).ok_or_else(|| internal("it has no offer"))?;
    let said = answer::KeptDocument { job: Some(job.into()), quote: Some((&view).into()) };
    Ok((Content { document: sealed(&said).into(), ..content }, said))
}

/// What the workshop's own sale of an offer comes to: the first on the route, which begins with the workshop.
pub(crate) fn own_sale(quote: &Quote, offer: &str) -> Option<Sale> {
    let sale = quote.offer(offer)?.sales.first()?;
    Some(Sale { net_minor: sale.net.minor(), gross_minor: sale.gross.minor() })
}

fn sealed(kept: &answer::KeptDocument) -> Vec<u8> {
    let block = compress_prepend_size(&kept.encode_to_vec());
    let mut document = Vec::with_capacity(block.len().saturating_add(1));
    document.push(FORM);
    document.extend(block);
    document
}

/// A document that cannot be read, or whose sums do not hold.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the document cannot be read: {0}")]
pub struct DamagedDocument(String);

/// The job and the quote of a document; every sum of the quote is checked again.
///
/// # Errors
/// [`DamagedDocument`] says what is wrong with it.
pub fn read(document: &[u8]) -> Result<(pb::Job, Quote), DamagedDocument> {
    let damaged = |what: &dyn ToString| DamagedDocument(what.to_string());
    let block = match document.split_first() {
        Some((&FORM, block)) => block,
        Some((form, _)) => return Err(damaged(&format_args!("its form {form} is not known"))),
        None => return Err(damaged(&"it is empty")),
    };
    let (size, block) = uncompressed_size(block).map_err(|error| damaged(&error))?;
    if size > LONGEST.min(block.len().saturating_mul(MOST_PACKED)) {
        return Err(damaged(&"it says that it is too long"));
    }
    let bytes = decompress(block, size).map_err(|error| damaged(&error))?;
    let kept = pb::KeptDocument::decode(&*bytes).map_err(|error| damaged(&error))?;
    let (Some(job), Some(quote)) = (kept.job, kept.quote) else {
        return Err(damaged(&"the job or the quote is missing"));
    };
    let quote = Quote::try_from(&quote).map_err(|error| damaged(&error))?;
    Ok((job, quote))
}

/// The same of an entry.
///
/// # Errors
/// [`NotRead::Damaged`] says which it is, and what is wrong with its document.
pub fn read_entry(entry: &Entry) -> Result<(pb::Job, Quote), NotRead> {
    read(&entry.content.document).map_err(|error| NotRead::Damaged(format!("{}: {error}", entry.number)))
}

/// The offer of a quote that was accepted, with the entry in whose document it stands what that comes to: of an
/// alternative that an earlier build has kept without its amount. Of any other the list says it.
///
/// # Errors
/// [`NotRead`] where the entry cannot be looked up, or is damaged.
pub(crate) async fn accepted_in_document<'s>(
    store: &dyn Store,
    summary: &'s Summary,
    sight: &Sight,
) -> Result<Option<(Entry, &'s Code)>, NotRead> {
    let (Some(offer), None) = (&summary.accepted, summary.accepted_net_minor) else { return Ok(None) };
    let entry = store.entry(&summary.number, Some((summary.revision, false)), sight).await?;
    Ok(entry.map(|entry| (entry, offer)))
}

/// What an offer of an entry comes to before VAT, in minor units; none where it has no such offer.
///
/// # Errors
/// As [`read_entry`].
pub(crate) fn net_minor(entry: &Entry, offer: &Code) -> Result<Option<i64>, NotRead> {
    let (_, quote) = read_entry(entry)?;
    Ok(quote.offer(offer.as_str()).map(|offer| offer.end.net.minor()))
}

/// Whose quotes and invoices a reader may look for.
pub(crate) fn sight(reader: &Reader) -> Sight {
    match reader {
        Reader::Partner(code) => Sight::Partner(code.clone()),
        Reader::Office | Reader::Accountant | Reader::Customer => Sight::All,
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
pub(crate) mod tests {
    use chrono::NaiveDate;
    use proptest::prelude::*;

    use super::*;

    /// A first entry for nothing and nobody, with what no document is, of that length.
    pub(crate) fn content(bytes: usize) -> Content {
        Content {
            revision: 1,
            reversal: false,
            reference: "JOB-1".parse().unwrap(),
            customer: "Bakery".parse().unwrap(),
            edition: "E1".parse().unwrap(),
            currency: "EUR".parse().unwrap(),
            quoted: NaiveDate::default(),
            valid_until: NaiveDate::default(),
            end_net_minor: 0,
            offers: Vec::new(),
            partners: Vec::new(),
            document: vec![0; bytes].into(),
        }
    }

    fn told(document: &[u8]) -> String {
        read(document).err().map(|damaged| damaged.to_string()).unwrap_or_default()
    }

    #[test]
    fn what_is_no_document_is_told() {
        assert!(told(&[]).contains("it is empty"));
        assert!(told(&[2, 0, 0, 0, 0]).contains("its form 2 is not known"));
        // It says that four gigabytes are in it; no room is made for them.
        assert!(told(&[FORM, 0xFF, 0xFF, 0xFF, 0xFF, 0]).contains("it says that it is too long"));
        assert!(told(&sealed(&answer::KeptDocument::default())).contains("the job or the quote is missing"));
    }

    proptest! {
        #[test]
        fn any_bytes_are_damaged(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
            let block = compress_prepend_size(&bytes);
            for document in [bytes.clone(), [&[FORM], &*bytes].concat(), [&[FORM], &*block].concat()] {
                prop_assert!(read(&document).is_err_and(|damaged| !damaged.0.is_empty()));
            }
        }
    }
}
