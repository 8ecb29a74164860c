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

/// A quote as it was kept, and the invoice or the credit note of it that a document is of.
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

impl Kept {
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
        let Some(entry) = store.entry(number, which, sight).await? else { return Ok(None) };
        if !kept::is_long(&entry.content.document) {
            return Self::of_entry(&entry).map(Some);
        }
        // Apart from where calls are answered; whoever asks for a paper has a place at a desk.
        let opened = tokio::task::spawn_blocking(move || Self::of_entry(&entry));
        opened.await.map_err(|error| NotRead::Damaged(error.to_string()))?.map(Some)
    }

    fn of_entry(entry: &Entry) -> Result<Self, NotRead> {
        let damaged = |why: &dyn ToString| NotRead::Damaged(format!("{}: {}", entry.number, why.to_string()));
        let (_, quote) = kept::read(&entry.content.document).map_err(|error| damaged(&error))?;
        let state = match entry.state {
            entry::State::Open | entry::State::Accepted | entry::State::Declined => State::InForce,
            entry::State::Superseded => State::Superseded,
            entry::State::Reversed => State::Reversed,
        };
        Ok(Self { quote, number: code(&entry.number)?, state, billed: None })
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
        let charged = Self::quote(store, &billed.quote, which, &Sight::All).await?;
        let charged = charged.ok_or_else(|| missing(&billed.quote))?;
        let preceding = match &billed.preceding {
            None => None,
            Some(preceding) => {
                let before = store.invoice(preceding, &Sight::All).await?;
                let before = before.ok_or_else(|| missing(preceding))?;
                Some(Preceding { number: code(preceding)?, issued: before.billed.issued })
            }
        };
        let (kind, quote) = match &preceding {
            None => (Kind::Invoice, charged.quote),
            Some(_) => {
                let damaged = |error| NotRead::Damaged(format!("{}: {error}", billed.quote));
                (Kind::CreditNote, charged.quote.reversed().map_err(damaged)?)
            }
        };
        let facts = InvoiceFacts {
            number: code(number)?,
            issued: billed.issued,
            due: billed.due,
            quote: charged.number.clone(),
            order: None,
            preceding,
            payment_reference: None,
            account: None,
            national_vat: None,
        };
        let billed = Some(Billed { kind, facts, offer: billed.offer });
        Ok(Some(Self { quote, number: charged.number, state: charged.state, billed }))
    }

    /// The edition that has priced it, whose stationery its documents are written with.
    pub fn edition(&self) -> &Code {
        &self.quote.edition
    }

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
