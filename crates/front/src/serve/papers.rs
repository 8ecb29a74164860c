//! Documents of what is kept.

use evenfare_engine::quote::Quote;
use evenfare_engine::tariff::Edition;
use evenfare_engine::text::Code;
use evenfare_engine::view::Reader;
use evenfare_files::Stationery;
use evenfare_paper::{InvoiceFacts, Preceding, State};
use evenfare_store::entry::{self, Entry};
use evenfare_store::invoice::Invoice;
use evenfare_store::number::Number;
use evenfare_store::{Sight, Store};

use crate::kept::{self, NotRead};
use crate::paper::{Asked, Document, Format, Kind, NotMade, Source, account, of_quote, of_sale};

/// What was found for a document: an entry of a quote, and the invoice or the credit note of it that a document is of.
pub struct Found {
    entry: Entry,
    billed: Option<Billed>,
}

/// The same opened: a quote as it was kept.
pub struct Kept {
    quote: Quote,
    number: Code,
    state: State,
    billed: Option<Billed>,
}

/// What an invoice or a credit note says beside its quote, but where it is paid, and VAT in another currency.
struct Billed {
    kind: Kind,
    facts: InvoiceFacts,
    offer: Code,
}

impl Found {
    /// An entry of a quote, where there is one in that sight.
    ///
    /// # Errors
    /// [`NotRead`] where the store has no answer, or a damaged one.
    pub async fn quote(
        store: &dyn Store,
        number: &Number,
        which: Option<(u32, bool)>,
        sight: &Sight,
    ) -> Result<Option<Self>, NotRead> {
        let entry = store.entry(number, which, sight).await?;
        Ok(entry.map(|entry| Self { entry, billed: None }))
    }

    /// An invoice or a credit note, where there is one in that sight.
    ///
    /// # Errors
    /// As [`quote`](Self::quote).
    pub async fn invoice(store: &dyn Store, number: &Number, sight: &Sight) -> Result<Option<Self>, NotRead> {
        let Some(Invoice { billed, .. }) = store.invoice(number, sight).await? else { return Ok(None) };
        let missing = |what: &Number| NotRead::Damaged(format!("{number} names {what}, which is not there"));
        // Whoever may see the invoice may see what it charges.
        let which = Some((billed.revision, false));
        let entry = store.entry(&billed.quote, which, &Sight::All).await?;
        let entry = entry.ok_or_else(|| missing(&billed.quote))?;
        let preceding = match &billed.preceding {
            None => None,
            Some(preceding) => {
                let before = store.invoice(preceding, &Sight::All).await?;
                let before = before.ok_or_else(|| missing(preceding))?;
                Some(Preceding { number: code(preceding)?, issued: before.billed.issued })
            }
        };
        let kind = if preceding.is_none() { Kind::Invoice } else { Kind::CreditNote };
        let facts = InvoiceFacts {
            number: code(number)?,
            issued: billed.issued,
            due: billed.due,
            quote: code(&billed.quote)?,
            order: None,
            preceding,
            payment_reference: None,
            account: None,
            national_vat: None,
        };
        Ok(Some(Self { entry, billed: Some(Billed { kind, facts, offer: billed.offer }) }))
    }

    /// The edition that has priced it, whose stationery its documents are written with.
    pub fn edition(&self) -> &Code {
        &self.entry.content.edition
    }

    /// Does it take long to open it?
    pub(super) fn is_long(&self) -> bool {
        kept::is_long(&self.entry.content.document)
    }

    /// Opens it.
    ///
    /// # Errors
    /// [`NotRead::Damaged`] where its document cannot be read.
    pub fn opened(self) -> Result<Kept, NotRead> {
        let Self { entry, billed } = self;
        let (_, quote) = kept::read_entry(&entry)?;
        let quote = match &billed {
            Some(Billed { kind: Kind::CreditNote, .. }) => {
                quote.reversed().map_err(|error| NotRead::Damaged(format!("{}: {error}", entry.number)))?
            }
            _ => quote,
        };
        let state = match entry.state {
            entry::State::Open | entry::State::Accepted | entry::State::Declined => State::InForce,
            entry::State::Superseded => State::Superseded,
            entry::State::Reversed => State::Reversed,
        };
        Ok(Kept { quote, number: code(&entry.number)?, state, billed })
    }
}

impl Kept {
    /// What its number is of.
    pub fn kind(&self) -> Kind {
        self.billed.as_ref().map_or(Kind::Quote, |billed| billed.kind)
    }

    /// Why there is no XML of an invoice or a credit note, where a standard has no form for it.
    ///
    /// # Errors
    /// [`NotMade`] says why there is no document of it at all.
    pub fn without_xml(
        &self,
        stationery: &Stationery,
        edition: Option<&Edition>,
    ) -> Result<Option<String>, NotMade> {
        let (kind, format) = (self.kind(), Format::Xml);
        let asked = Asked { reader: Reader::Office, kind, format, language: None, offer: None };
        match self.document(stationery, edition, &asked) {
            Ok(_) => Ok(None),
            Err(NotMade::NotWritable(why)) => Ok(Some(why)),
            Err(other) => Err(other),
        }
    }

    /// The document that is asked for, by the edition that has priced the quote.
    ///
    /// # Errors
    /// [`NotMade`] says why there is none.
    pub fn document(
        &self,
        stationery: &Stationery,
        edition: Option<&Edition>,
        asked: &Asked,
    ) -> Result<Document, NotMade> {
        let source = Source { quote: &self.quote, number: Some(&self.number), state: self.state, stationery };
        let Some(Billed { kind, facts, offer }) = &self.billed else { return of_quote(&source, asked) };
        if *kind != asked.kind {
            // Of what is not his, nobody learns what it is.
            asked.sight_of_sale(&self.quote)?;
            return Err(NotMade::OtherKind { number: facts.number.to_string(), kind: *kind });
        }
        let facts = InvoiceFacts { account: account(&stationery.letterhead), ..facts.clone() };
        of_sale(&source, edition, &facts, offer.as_str(), asked)
    }
}

fn code(number: &Number) -> Result<Code, NotRead> {
    number.to_string().parse().map_err(|_| NotRead::Damaged(format!("{number} is no code")))
}
