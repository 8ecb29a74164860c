//! The demo jobs as each reader sees them, on an invented letterhead.

use std::path::{Path, PathBuf};

use evenfare_engine::language::Language;
use evenfare_engine::quote::Quote;
use evenfare_engine::view::{Reader, View, view};
use evenfare_files::{Bank, Letterhead, LetterheadTexts, Logo, LogoKind, Stationery};
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
    let tariffs = evenfare_files::read_tariff(&bakery().join("tariff")).unwrap();
    let wanted = format!("{number:02}-");
    let jobs = std::fs::read_dir(bakery().join("jobs")).unwrap().map(|entry| entry.unwrap().path());
    let of_number = |path: &PathBuf| path.file_name().unwrap().to_str().unwrap().starts_with(&wanted);
    let path = jobs.into_iter().find(of_number).unwrap();
    let (job, _) = evenfare_files::read_job(&path).unwrap();
    evenfare_engine::quote(&job, tariffs.on(job.received).unwrap()).ok()
}

pub fn seen(quote: &Quote, reader: &str) -> View {
    let reader: Reader = reader.parse().unwrap();
    view(quote, &reader).unwrap()
}

/// A letterhead that says everything a letterhead can.
pub fn stationery() -> Stationery {
    let logo = r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 30"><path d="M2 28 L15 4 L28 28 Z M32 4 H58 V28 H32 Z" fill="#24566b"/></svg>"##;
    let texts = LetterheadTexts {
        greeting: Some("Thank you for sending us your controller.".parse().unwrap()),
        closing: Some("We look forward to your order.".parse().unwrap()),
        footer: Some("Our general terms apply.".parse().unwrap()),
        delivery_note: Some("Keep the crate: it is used for the way back.".parse().unwrap()),
        cautions: vec!["Flour dust: vacuum the cabinet before it is opened.".parse().unwrap()],
    };
    let letterhead = Letterhead {
        language: Language::English,
        legal_name: vec![
            "Werkbank Nord GmbH".parse().unwrap(),
            "Controllers of bakery lines".parse().unwrap(),
        ],
        phone: Some("+49 0000 112233".parse().unwrap()),
        email: Some("office@werkbank.invalid".parse().unwrap()),
        web: Some("werkbank.invalid".parse().unwrap()),
        register: Some("Amtsgericht Nirgendwo, HRB 00000".parse().unwrap()),
        managing_directors: vec!["Ada Beispiel".parse().unwrap()],
        bank: Some(Bank {
            name: "Beispielbank".parse().unwrap(),
            iban: "DE89370400440532013000".parse().unwrap(),
            bic: Some("TESTDE99".parse().unwrap()),
        }),
        payment_days: 14,
        accent: "#24566b".parse().unwrap(),
        muted: "#5c6468".parse().unwrap(),
        logo: Some(Logo { file: "logo.svg".to_owned(), kind: LogoKind::Svg, bytes: logo.as_bytes().into() }),
        texts: [(Language::English, texts)].into(),
    };
    Stationery { letterhead, ..Stationery::default() }
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
                let code = quote.route.last()?.code.clone();
                let view = seen(quote, &format!("partner:{code}"));
                sheet::partner(&given(&view, stationery, language), &code).unwrap()
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
