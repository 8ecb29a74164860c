//! The demo jobs as each reader sees them, on an invented letterhead.

use std::path::{Path, PathBuf};

use evenfare_engine::job::Job;
use evenfare_engine::language::Language;
use evenfare_engine::quote::Quote;
use evenfare_engine::text::Code;
use evenfare_engine::view::{Reader, View, view};
use evenfare_files::Stationery;
use evenfare_paper::sheet::{self, Given, Sheet};
use evenfare_paper::{Account, Invoice, InvoiceFacts, Preceding, Sold, State};

pub fn here() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn bakery() -> PathBuf {
    here().join("../../examples/bakery")
}

/// The demo job whose file begins with that number; nothing where its route is refused.
pub fn quote(number: u32) -> Option<Quote> {
    quote_of(number, |_| {})
}

/// The same of a job that is otherwise in something.
pub fn quote_of(number: u32, change: impl FnOnce(&mut Job)) -> Option<Quote> {
    let tariffs = evenfare_files::read_tariff(&bakery().join("tariff")).unwrap();
    let wanted = format!("{number:02}-");
    let jobs = std::fs::read_dir(bakery().join("jobs")).unwrap().map(|entry| entry.unwrap().path());
    let of_number = |path: &PathBuf| path.file_name().unwrap().to_str().unwrap().starts_with(&wanted);
    let path = jobs.into_iter().find(of_number).unwrap();
    let (mut job, _) = evenfare_files::read_job(&path).unwrap();
    change(&mut job);
    evenfare_engine::quote(&job, tariffs.on(job.received).unwrap()).ok()
}

/// Invented paper, on which work stands in the order of the demo's tariff.
pub fn stationery() -> Stationery {
    Stationery { operations: demo_stationery().operations, ..crate::letterhead::stationery() }
}

/// The paper of the demo's workshop, with texts of its own and a catalogue in every language.
pub fn demo_stationery() -> Stationery {
    let tariffs = evenfare_files::read_tariff(&bakery().join("tariff")).unwrap();
    tariffs.stationery("2026-07").clone()
}

pub fn seen(quote: &Quote, reader: &str) -> View {
    let reader: Reader = reader.parse().unwrap();
    view(quote, &reader).unwrap()
}

/// What a sheet of that view is written from.
pub fn given<'a>(view: &'a View, stationery: &'a Stationery, language: Language) -> Given<'a> {
    Given { view, number: Some("Q-2026-000042"), state: State::InForce, stationery, language }
}

/// A kind of sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    Quote,
    Partner,
    Office,
    Bench,
    Invoice,
    CreditNote,
}

impl Kind {
    pub const ALL: [Self; 6] =
        [Self::Quote, Self::Partner, Self::Office, Self::Bench, Self::Invoice, Self::CreditNote];

    pub fn name(self) -> &'static str {
        match self {
            Self::Quote => "quote",
            Self::Partner => "partner",
            Self::Office => "office",
            Self::Bench => "bench",
            Self::Invoice => "invoice",
            Self::CreditNote => "credit-note",
        }
    }

    /// The sheet of that kind; nothing where the quote has no partner to be told.
    pub fn sheet(self, quote: &Quote, stationery: &Stationery, language: Language) -> Option<Sheet> {
        Some(match self {
            Self::Quote => sheet::quote(&given(&seen(quote, "customer"), stationery, language)).unwrap(),
            Self::Partner => {
                let code = &quote.route.last()?.code;
                partner_sheet(quote, stationery, language, code)
            }
            Self::Office => sheet::office(&given(&seen(quote, "office"), stationery, language)).unwrap(),
            Self::Bench => {
                sheet::bench(&given(&seen(quote, "office"), stationery, language), "main").unwrap()
            }
            Self::Invoice => billed(quote, stationery, language, sheet::invoice),
            Self::CreditNote => billed(&quote.reversed().unwrap(), stationery, language, sheet::credit_note),
        })
    }
}

/// The sheet of one of the partners.
pub fn partner_sheet(quote: &Quote, stationery: &Stationery, language: Language, code: &Code) -> Sheet {
    let view = seen(quote, &format!("partner:{code}"));
    sheet::partner(&given(&view, stationery, language), code).unwrap()
}

type Billing = fn(&Given<'_>, &Invoice<'_>) -> Result<Sheet, sheet::NoSheet>;

fn billed(quote: &Quote, stationery: &Stationery, language: Language, billing: Billing) -> Sheet {
    let view = seen(quote, "office");
    let sold = Sold::by(&view, "main", "workshop").unwrap();
    let facts = facts(&view);
    billing(&given(&view, stationery, language), &Invoice { sold, facts: &facts }).unwrap()
}

/// What an invoice of that view says beside it.
pub fn facts(view: &View) -> InvoiceFacts {
    let letterhead = stationery().letterhead;
    let bank = letterhead.bank.as_ref().unwrap();
    InvoiceFacts {
        number: "RE-2026-0017".parse().unwrap(),
        issued: view.dispatch,
        due: Some(view.dispatch + chrono::Days::new(14)),
        quote: "Q-2026-000042".parse().unwrap(),
        order: Some("PO 4711".parse().unwrap()),
        preceding: view
            .reversal
            .then(|| Preceding { number: "RE-2026-0009".parse().unwrap(), issued: view.quoted }),
        payment_reference: None,
        account: Some(Account {
            iban: bank.iban.as_str().parse().unwrap(),
            bic: bank.bic.as_ref().map(|bic| bic.as_str().parse().unwrap()),
            holder: None,
        }),
        national_vat: None,
    }
}
