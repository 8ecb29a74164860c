//! What a reader may not see is nowhere in what he gets: not as a key, not in the working.

#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

use std::path::Path;

use evenfare_engine::flag::Flag;
use evenfare_engine::quote::Quote;
use evenfare_engine::supply::VatCategory;
use evenfare_engine::view::{Reader, view};
use evenfare_engine::{Refused, routes};

/// Every demo job by every route it can be priced by.
fn quotes() -> Vec<Quote> {
    let bakery = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/bakery");
    let tariffs = evenfare_files::read_tariff(&bakery.join("tariff")).unwrap();
    let mut paths: Vec<_> =
        std::fs::read_dir(bakery.join("jobs")).unwrap().map(|e| e.unwrap().path()).collect();
    paths.sort();
    let mut quotes = Vec::new();
    for path in paths {
        let (job, _) = evenfare_files::read_job(&path).unwrap();
        for (_, priced) in routes(&job, tariffs.on(job.received).unwrap()) {
            match priced {
                Ok(quote) => quotes.push(quote),
                Err(Refused::UnderTheFloor(_)) => {}
                Err(other) => unreachable!("{}: {other}", path.display()),
            }
        }
    }
    assert!(quotes.len() > 40, "{} quotes", quotes.len());
    quotes
}

fn json(quote: &Quote, reader: &str) -> Option<String> {
    let reader: Reader = reader.parse().unwrap();
    view(quote, &reader).map(|view| serde_json::to_string(&view).unwrap())
}

/// Words that only stand where the workshop's cost or floor stands.
const SECRET: [&str; 9] = [
    "\"cost_minor\"",
    "\"costs\"",
    "\"contribution_minor\"",
    "\"workshop_net_minor\"",
    "\"available_minor\"",
    "under_floor",
    "cost.",
    "markup",
    "minimum_contribution",
];

#[test]
fn a_partner_learns_his_own_share_and_no_cost() {
    let mut seen = 0;
    for quote in quotes() {
        for own in &quote.route {
            let text = json(&quote, &format!("partner:{}", own.code)).unwrap();
            for secret in SECRET {
                assert!(!text.contains(secret), "{} shows {secret} to {}", quote.reference, own.code);
            }
            assert!(text.contains(&format!("\"share.{}\"", own.code)), "his own share has its working");
            for other in quote.route.iter().filter(|other| other.code != own.code) {
                for figure in ["share", "agreed", "discount", "credit"] {
                    assert!(
                        !text.contains(&format!("{figure}.{}", other.code)),
                        "{} of {}",
                        figure,
                        other.code
                    );
                }
                assert!(!text.contains(&format!("\"partner\":\"{}\"", other.code)));
            }
            seen += 1;
        }
    }
    assert!(seen > 40, "{seen} views");
}

#[test]
fn the_customer_learns_the_end_price_and_its_vat() {
    for quote in quotes() {
        let text = json(&quote, "customer").unwrap();
        for secret in SECRET.into_iter().chain(["share.", "agreed.", "discount.", "credit.", "shares_scaled"])
        {
            assert!(!text.contains(secret), "{} shows {secret}", quote.reference);
        }
        let seen = view(&quote, &Reader::Customer).unwrap();
        assert_eq!(seen.main.end.net_minor, quote.main().unwrap().end.net.minor());
        assert_eq!(seen.main.sales.len(), 1);
        assert!(seen.main.shares.is_empty());
    }
}

/// That a sale needs two invoices is no concern of who neither sells nor buys by it.
#[test]
fn who_reads_of_two_invoices_sees_the_sale_that_needs_them() {
    let (mut told, mut kept) = (0, 0);
    for quote in quotes() {
        let partners = quote.route.iter().map(|party| Reader::Partner(party.code.clone()));
        for reader in partners.chain([Reader::Customer, Reader::Office]) {
            let seen = view(&quote, &reader).unwrap();
            for (offer, of_quote) in seen.offers().zip(&quote.offers) {
                let is_mixed = offer.sales.iter().any(|sale| {
                    let outside = sale.vat.iter().filter(|group| group.category == VatCategory::O).count();
                    outside > 0 && outside < sale.vat.len()
                });
                let is_told = offer.flags.contains(&Flag::SeveralInvoices);
                assert_eq!(is_told, is_mixed, "{} to {reader}: {}", quote.reference, offer.offer);
                let is_raised = of_quote.flags.contains(&Flag::SeveralInvoices);
                told += usize::from(is_told);
                kept += usize::from(is_raised && !is_told);
            }
        }
    }
    assert!(told > 0 && kept > 0, "{told} are told, of {kept} it is none of their business");
}

#[test]
fn a_quote_of_others_is_not_there() {
    for quote in quotes() {
        assert_eq!(json(&quote, "partner:P-NOBODY"), None);
    }
}

#[test]
fn office_and_accountant_see_every_working() {
    for quote in quotes() {
        for reader in [Reader::Office, Reader::Accountant] {
            let seen = view(&quote, &reader).unwrap();
            assert_eq!(seen.main.working, quote.main().unwrap().working);
            assert_eq!(seen.main.cost_minor, Some(quote.main().unwrap().cost.minor()));
        }
    }
}
