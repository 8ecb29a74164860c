//! What the store knows: offers that were accepted, and the workshop's own invoices of them.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::job::Job;
use evenfare_engine::supply::VatGroup;
use evenfare_engine::tariff::Party;
use evenfare_engine::text::Code;
use evenfare_files::{Stationery, Tariffs};
use evenfare_reconcile::Inputs;
use evenfare_reconcile::agreed::Agreed;
use evenfare_reconcile::firm::{Firm, Firms};
use evenfare_reconcile::input::{AccountingVat, Invoice, InvoiceKind, InvoiceVat, Place, Trader};
use evenfare_reconcile::what_if::{OtherAgreements, Past};
use evenfare_store::Store;
use evenfare_store::entry::Entry;
use evenfare_store::event::{Kept, Kind, Record};
use evenfare_store::invoice::{Billed, Invoice as KeptInvoice};
use evenfare_store::number::Number;
use evenfare_store::refused::StoreError;

use crate::kept::{self, NotRead};
use crate::paper::national;

/// The name of the store among the files that month end reads. A closing keeps it, so it is the same on every
/// machine; the line is the sequence of the event.
pub const STORE: &str = "store";

/// How many records are read at a time, each with its document.
const AT_A_TIME: u32 = 64;

/// Who took part in what was accepted.
#[derive(Debug, Default)]
pub struct Parties {
    /// The workshop, where anything was accepted.
    pub workshop: Option<Party>,
    /// Partners and end customers, by what accounts know them by.
    pub others: BTreeMap<Arc<str>, Party>,
}

/// What papers of month end are written with: what the last edition has for it.
#[derive(Debug, Default)]
pub struct WrittenWith {
    /// Letterhead and translations.
    pub stationery: Stationery,
    /// Families by their codes, in the workshop's own words.
    pub families: BTreeMap<String, String>,
}

impl WrittenWith {
    fn new(tariffs: &Tariffs) -> Self {
        let Some(last) = tariffs.editions().last() else { return Self::default() };
        let families = last.families().iter();
        Self {
            stationery: tariffs.stationery(last.code().as_str()).clone(),
            families: families.map(|one| (one.code.to_string(), one.text.to_string())).collect(),
        }
    }
}

/// A revision that was accepted.
struct Accepted {
    /// Where in `agreed` it is.
    place: usize,
    /// The VAT that an invoice of it says in the currency of the workshop's country, where it says one.
    accounting_vat: Option<AccountingVat>,
}

/// What was accepted and invoiced by the records that went by.
pub struct Known {
    store: Arc<str>,
    tariffs: Arc<Tariffs>,
    with: WrittenWith,
    /// By what partners may have invoiced that was not in force.
    others: OtherAgreements,
    firms: Firms,
    /// What our invoices call them.
    traders: HashMap<Arc<Firm>, Arc<Trader>>,
    /// Who they are, by what accounts know them by; as they were last.
    parties: BTreeMap<Arc<str>, Party>,
    workshop: Option<Party>,
    agreed: Vec<Agreed>,
    /// Each revision of a number that was accepted.
    accepted: HashMap<(Number, u32), Accepted>,
    invoices: Vec<Invoice>,
}

impl Known {
    /// Nothing so far, by the editions that are published. An invoice that goes by another agreement of them than
    /// was in force will be known for what it is.
    pub fn new(tariffs: Arc<Tariffs>) -> Self {
        Self {
            store: STORE.into(),
            with: WrittenWith::new(&tariffs),
            others: OtherAgreements::new(tariffs.editions()),
            tariffs,
            firms: Firms::default(),
            traders: HashMap::new(),
            parties: BTreeMap::new(),
            workshop: None,
            agreed: Vec::new(),
            accepted: HashMap::new(),
            invoices: Vec::new(),
        }
    }

    /// Reads all that was written down, one batch after the other: documents of one batch are in memory at a
    /// time, and only what was agreed stays. `goes_on` is told how far it has come, and may end it.
    ///
    /// # Errors
    /// [`NotRead`] where the store has no answer or a damaged one, and whatever `goes_on` says.
    pub async fn read<E: From<NotRead>>(
        self,
        store: &dyn Store,
        mut goes_on: impl FnMut(u64) -> Result<(), E>,
    ) -> Result<Self, E> {
        let no_answer = |error: StoreError| E::from(NotRead::from(error));
        let last = store.last().await.map_err(no_answer)?;
        let mut known = self;
        let mut records = store.records(0, AT_A_TIME).await.map_err(no_answer)?;
        while let Some(end) = records.last().map(|record| record.event.sequence) {
            goes_on(end.min(last))?;
            // Documents are unpacked apart from those who wait for calls, while the next batch is read.
            let unpacked = tokio::task::spawn_blocking(move || {
                let taken = records.iter().try_for_each(|record| known.take(record));
                taken.map(|()| known)
            });
            let next =
                async { if end < last { store.records(end, AT_A_TIME).await } else { Ok(Vec::new()) } };
            let (unpacked, next) = tokio::join!(unpacked, next);
            let lost = |error: tokio::task::JoinError| NotRead::Damaged(error.to_string());
            known = unpacked.map_err(lost)??;
            records = next.map_err(no_answer)?;
        }
        Ok(known)
    }

    /// Takes the next record.
    ///
    /// # Errors
    /// [`NotRead::Damaged`] where its document cannot be read, or it is of something that was not there.
    pub fn take(&mut self, record: &Record) -> Result<(), NotRead> {
        let event = &record.event;
        match (&record.kept, event.kind) {
            (Kept::Entry(entry), Kind::Accepted) => {
                let of_an_acceptance = event.offer.as_ref().zip(event.settled);
                let (offer, accepted) = of_an_acceptance
                    .ok_or_else(|| NotRead::Damaged(format!("event {} accepts no offer", event.sequence)))?;
                self.accepted(entry, offer, accepted)
            }
            (Kept::Entry(entry), Kind::Reversed) => {
                // An opposite entry is of the last revision, and takes the number back with all before it.
                for revision in 1..=entry.content.revision {
                    let accepted = self.accepted.get(&(entry.number.clone(), revision));
                    if let Some(agreed) = accepted.and_then(|one| self.agreed.get_mut(one.place)) {
                        agreed.reversed = Some(event.recorded.date_naive());
                    }
                }
                Ok(())
            }
            (Kept::Invoice(invoice), Kind::Invoiced | Kind::Credited) => {
                let invoice = self.invoice(invoice, event.sequence)?;
                self.invoices.push(invoice);
                Ok(())
            }
            _ => Ok(()),
        }
    }

    fn accepted(&mut self, entry: &Entry, offer: &Code, day: NaiveDate) -> Result<(), NotRead> {
        let number = entry.number.to_string();
        let damaged = |why: &dyn ToString| NotRead::Damaged(format!("{number}: {}", why.to_string()));
        let (job, quote) = kept::read(&entry.content.document).map_err(|error| damaged(&error))?;
        let job = Job::try_from(job).map_err(|error| damaged(&error))?;
        let mut agreed = Agreed::new(&number, &quote, offer.as_str(), day, &mut self.firms)
            .map_err(|error| damaged(&error))?;
        let past = Past { number: &number, job: &job, quote: &quote, accepted: Some(offer.as_str()) };
        self.others.note(&mut agreed, &past, &mut self.firms);
        for party in quote.route.iter().chain([&quote.customer]) {
            let firm = self.firms.of(party);
            if self.parties.get(&firm.id) != Some(party) {
                self.parties.insert(Arc::clone(&firm.id), party.clone());
            }
        }
        if self.workshop.as_ref() != Some(&quote.workshop) {
            self.workshop = Some(quote.workshop.clone());
        }
        // Where it is not known, neither does the invoice say it.
        let edition = self.tariffs.edition(quote.edition.as_str());
        let said = national(&quote, edition, offer.as_str()).ok().flatten();
        let accounting_vat =
            said.map(|said| AccountingVat { currency: said.currency, minor: said.tax.minor() });
        let accepted = Accepted { place: self.agreed.len(), accounting_vat };
        self.accepted.insert((entry.number.clone(), entry.content.revision), accepted);
        self.agreed.push(agreed);
        Ok(())
    }

    /// An invoice or a credit note of ours. It says in the store what it charges; all else is what was accepted.
    fn invoice(&mut self, kept: &KeptInvoice, sequence: u64) -> Result<Invoice, NotRead> {
        let Billed { quote, revision, preceding, issued, due, currency, sale, .. } = &kept.billed;
        let accepted = self.accepted.get(&(quote.clone(), *revision));
        let of_quote = accepted.and_then(|one| Some((one, self.agreed.get(one.place)?.sales.first()?)));
        let (accepted, charged) = of_quote.ok_or_else(|| {
            NotRead::Damaged(format!("{} is of {quote}, which was not accepted", kept.number))
        })?;
        // A credit note tells what it takes back, above nothing.
        let (kind, sign) = match preceding {
            None => (InvoiceKind::Invoice, 1),
            Some(_) => (InvoiceKind::CreditNote, -1),
        };
        let gross_minor = sale.gross_minor.saturating_mul(sign);
        Ok(Invoice {
            place: Place { file: Arc::clone(&self.store), line: u32::try_from(sequence).unwrap_or(u32::MAX) },
            kind,
            number: kept.number.to_string().into(),
            issued: *issued,
            due: *due,
            currency: *currency,
            quote: Some(quote.to_string().into()),
            is_noted: false,
            references: Box::default(),
            preceding: preceding.as_ref().map(|number| number.to_string().into()),
            other_preceding: Box::default(),
            payment_reference: None,
            seller: trader(&mut self.traders, &charged.seller),
            buyer: trader(&mut self.traders, &charged.buyer),
            net_minor: sale.net_minor.saturating_mul(sign),
            vat: charged.vat.iter().map(vat).collect(),
            accounting_vat: accepted.accounting_vat,
            gross_minor,
            rounding_minor: 0,
            payable_minor: gross_minor,
        })
    }

    /// How many offers were accepted, and how many invoices and credit notes issued.
    pub fn counts(&self) -> (usize, usize) {
        (self.agreed.len(), self.invoices.len())
    }

    /// Puts what is known into what month end takes in. A copy of one of our invoices in the folder counts once:
    /// the store has it already. One that says something else stays, to be told of.
    pub(super) fn put_into(mut self, inputs: &mut Inputs) -> (Parties, WrittenWith) {
        let ours: HashMap<&str, &Invoice> =
            self.invoices.iter().map(|invoice| (&*invoice.number, invoice)).collect();
        inputs.invoices.retain(|copy| !ours.get(&*copy.number).is_some_and(|own| is_copy(own, copy)));
        inputs.invoices.append(&mut self.invoices);
        inputs.agreed.append(&mut self.agreed);
        let partners = self.tariffs.editions().iter().flat_map(|edition| edition.partners().iter());
        inputs.partners.extend(partners.map(|partner| partner.party.code.as_str().into()));
        (Parties { workshop: self.workshop, others: self.parties }, self.with)
    }
}

/// Is it the same invoice, as far as a store keeps one?
fn is_copy(own: &Invoice, copy: &Invoice) -> bool {
    let sums = |invoice: &Invoice| (invoice.net_minor, invoice.gross_minor, invoice.payable_minor);
    let seller = match (&own.seller.vat_id, &copy.seller.vat_id) {
        (Some(own), Some(copy)) => own == copy,
        _ => own.seller.name == copy.seller.name,
    };
    seller
        && (own.kind, own.issued, own.currency) == (copy.kind, copy.issued, copy.currency)
        && sums(own) == sums(copy)
        && own.vat == copy.vat
        && (copy.accounting_vat.is_none() || own.accounting_vat == copy.accounting_vat)
}

/// What an invoice calls a firm; once for all of its invoices.
fn trader(known: &mut HashMap<Arc<Firm>, Arc<Trader>>, firm: &Arc<Firm>) -> Arc<Trader> {
    let trader =
        || Trader { name: Arc::clone(&firm.name), vat_id: firm.vat_id.clone(), country: None }.into();
    Arc::clone(known.entry(Arc::clone(firm)).or_insert_with(trader))
}

fn vat(group: &VatGroup) -> InvoiceVat {
    InvoiceVat {
        category: Some(group.category),
        code: group.category.code().into(),
        rate: group.rate,
        base_minor: group.base.minor(),
        tax_minor: group.tax.minor(),
    }
}
