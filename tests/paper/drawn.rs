//! Quotes drawn at random, and every document of one.

use std::collections::BTreeMap;
use std::io::Write;
use std::path::Path;

use evenfare_engine::job::Job;
use evenfare_engine::money::{Currency, Vat};
use evenfare_engine::national::NationalVat;
use evenfare_engine::quote;
use evenfare_engine::quote::Quote;
use evenfare_engine::tariff::Edition;
use evenfare_engine::text::Text;
use evenfare_engine::view::{Reader, View, view};
use evenfare_files::{read_job, read_tariff};
use evenfare_paper::ubl::{self, NotWritable, Quotation};
use evenfare_paper::{Account, Invoice, InvoiceFacts, Preceding, Sold, State};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestCaseResult, TestRunner};

use crate::laws::worlds::{Recipe, World, code, day};
use crate::tape::Tapes;

/// What a document is of a sale.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    Quotation,
    Invoice,
    /// An invoice of a reversal, with amounts below nothing.
    Below,
    CreditNote,
}

/// One document, and what it is of.
pub struct Document<'v> {
    pub kind: Kind,
    pub sold: Sold<'v>,
    pub written: Result<Vec<u8>, NotWritable>,
}

/// A quote and its reversal, as one reader sees them.
pub struct Seen {
    pub quote: View,
    pub reversal: View,
}

impl Seen {
    pub fn by(quote: &Quote, reader: &Reader) -> Self {
        let seen = |quote: &Quote| view(quote, reader).unwrap();
        Self { quote: seen(quote), reversal: seen(&quote.reversed().unwrap()) }
    }

    /// Every document of every sale of every offer.
    pub fn each(&self, mut with: impl FnMut(Document<'_>) -> TestCaseResult) -> TestCaseResult {
        let number = code("2026-0214");
        for (view, kinds) in [
            (&self.quote, [Kind::Quotation, Kind::Invoice]),
            (&self.reversal, [Kind::Below, Kind::CreditNote]),
        ] {
            for sold in sales(view) {
                let facts = InvoiceFacts { national_vat: other_currency(&sold), ..facts(view) };
                for kind in kinds {
                    let invoice = Invoice { sold, facts: &facts };
                    let written = match kind {
                        Kind::Quotation => {
                            ubl::quotation(&Quotation { sold, number: Some(&number), state: State::InForce })
                        }
                        Kind::Invoice | Kind::Below => ubl::invoice(&invoice),
                        Kind::CreditNote => ubl::credit_note(&invoice),
                    };
                    with(Document { kind, sold, written })?;
                }
            }
        }
        Ok(())
    }
}

fn sales(view: &View) -> impl Iterator<Item = Sold<'_>> {
    view.offers().flat_map(move |offer| {
        offer.sales.iter().map(move |sale| Sold::by(view, &offer.offer, sale.seller.as_str()).unwrap())
    })
}

/// What VAT there is, as if the seller's country had another currency; the standard asks for no rate.
fn other_currency(sold: &Sold<'_>) -> Option<NationalVat> {
    let tax: i64 = sold.sale.vat.iter().map(|group| group.tax_minor).sum();
    let other = if sold.view.currency == "CHF" { "NOK" } else { "CHF" };
    let currency = other.parse().unwrap();
    (tax != 0).then(|| NationalVat { currency, tax: Vat::from_minor(tax / 2).unwrap(), rates: Vec::new() })
}

pub fn facts(view: &View) -> InvoiceFacts {
    // Some are paid for in advance: issued before the units leave, and before VAT becomes chargeable.
    let in_advance = view.reference.as_str().len().is_multiple_of(3);
    InvoiceFacts {
        number: code("R-2026-0107"),
        issued: if in_advance { view.quoted.min(view.dispatch) } else { view.dispatch },
        // Sometimes no day is said.
        due: view.reference.as_str().len().is_multiple_of(2).then(|| day(2027, 1, 31)),
        quote: code("2026-0214"),
        order: Some("4500 & more".parse().unwrap()),
        preceding: view.reversal.then(|| Preceding { number: code("R-2026-0099"), issued: view.quoted }),
        payment_reference: None,
        account: Some(Account {
            // A bank code that nobody has, with check digits that hold (ISO 13616).
            iban: code("DE93999999990000000001"),
            bic: Some(code("DEMODEFFXXX")),
            holder: None,
        }),
        national_vat: None,
    }
}

/// At least this many quotes are drawn, or as many as are asked for.
pub fn cases(least: u32) -> u32 {
    Config::default().cases.max(least)
}

/// Draws jobs, each with its edition, until there are this many.
pub fn jobs(law: &str, cases: u32, with: impl FnMut(&Job, &Edition) -> TestCaseResult) {
    let max_global_rejects = cases.max(1_000);
    let config = Config {
        cases,
        max_global_rejects,
        failure_persistence: None,
        max_shrink_iters: 20_000,
        ..Config::default()
    };
    let with = std::cell::RefCell::new(with);
    // Texts of a world are plain; what people write is not.
    let name = prop_oneof!["[^\\p{Cc}]{1,200}", "[\"'<>&\\]\\[;ßé🧰 ]{1,200}", "[A-Z][a-z]{1,20}"];
    let held = TestRunner::new(config).run(&(Tapes { of: Recipe }, name), |(recipe, name)| {
        let drawn = || World::new(&recipe.0).map_err(|_| TestCaseError::reject("tariff refused"));
        let World { edition, mut job, .. } = drawn()?;
        job.customer.name = format!("x{name}").chars().take(200).collect::<String>().parse::<Text>().unwrap();
        job.units[0].serial = name.parse().unwrap();
        with.borrow_mut()(&job, &edition)
    });
    held.unwrap_or_else(|error| panic!("law {law} does not hold: {error}"));
}

/// Draws quotes until there are this many.
pub fn quotes(law: &str, cases: u32, mut with: impl FnMut(&Quote) -> TestCaseResult) {
    jobs(law, cases, |job, edition| match quote(job, edition) {
        Ok(quote) => with(&quote),
        // No route is always carried; a world is refused for little else.
        Err(_) => Err(TestCaseError::reject("job refused")),
    });
}

/// The quotes of the worked example, those that its routes carry.
pub fn demo() -> Vec<Quote> {
    let bakery = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/bakery");
    let tariffs = read_tariff(&bakery.join("tariff")).unwrap();
    let files = std::fs::read_dir(bakery.join("jobs")).unwrap().map(|entry| entry.unwrap().path());
    let jobs = files.map(|path| read_job(&path).unwrap().0);
    jobs.filter_map(|job| quote(&job, tariffs.on(job.received).unwrap()).ok()).collect()
}

/// Does an amount in it stand below nothing?
fn is_negative(xml: &str) -> bool {
    let after = xml.match_indices("Amount currencyID=\"").filter_map(|(at, _)| xml[at..].split_once('>'));
    after.map(|(_, amount)| amount).any(|amount| amount.starts_with('-'))
}

/// How many documents of each kind were written, and why others were not.
#[derive(Default)]
pub struct Tally {
    written: BTreeMap<Kind, usize>,
    /// By what a document is and the decimals of its currency.
    decimals: BTreeMap<(Kind, usize), usize>,
    /// Documents with an amount below nothing.
    negative: BTreeMap<Kind, usize>,
    refused: BTreeMap<String, usize>,
}

impl Tally {
    pub fn count(&mut self, document: &Document<'_>) {
        match &document.written {
            Ok(xml) => {
                let kind = document.kind;
                let currency: Currency = document.sold.view.currency.parse().unwrap();
                let decimals = currency.minor_per_major().ilog10() as usize;
                *self.written.entry(kind).or_default() += 1;
                *self.decimals.entry((kind, decimals)).or_default() += 1;
                if is_negative(std::str::from_utf8(xml).unwrap()) {
                    *self.negative.entry(kind).or_default() += 1;
                }
            }
            Err(why) => {
                let why = format!("{why:?}");
                let name = why.split([' ', '(']).next().unwrap().to_owned();
                *self.refused.entry(name).or_default() += 1;
            }
        }
    }

    pub fn of(&self, kind: Kind) -> usize {
        self.written.get(&kind).copied().unwrap_or(0)
    }

    /// How many of them are in a currency of this many decimals.
    pub fn with_decimals(&self, kind: Kind, decimals: usize) -> usize {
        self.decimals.get(&(kind, decimals)).copied().unwrap_or(0)
    }

    /// How many of them have an amount below nothing.
    pub fn negative(&self, kind: Kind) -> usize {
        self.negative.get(&kind).copied().unwrap_or(0)
    }

    pub fn tell(&self, law: &str) {
        // The test harness captures `eprintln!` and not this.
        let _ = writeln!(
            std::io::stderr().lock(),
            "law {law}: written {:?}, by decimals {:?}, with negative amounts {:?}, refused {:?}",
            self.written,
            self.decimals,
            self.negative,
            self.refused
        );
    }
}
