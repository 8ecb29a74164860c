//! What a reader may not see is nowhere on his sheet.

use evenfare_engine::language::Language;
use evenfare_engine::quote::Quote;
use evenfare_paper::pdf::set;
use evenfare_paper::{figures, sheet};

use crate::pages::text;
use crate::world::{Kind, given, quote, seen, stationery};

fn quotes() -> impl Iterator<Item = Quote> {
    (1..=12).filter_map(quote)
}

/// All amounts of a quote, as they would be written.
fn amounts(quote: &Quote) -> Vec<String> {
    let written = |minor: i64| figures::amount(Language::English, minor, quote.currency);
    let mut amounts = Vec::new();
    for offer in &quote.offers {
        amounts.extend(offer.lines.iter().map(|line| written(line.net.minor())));
        amounts.extend(offer.costs.iter().map(|cost| written(cost.cost.minor())));
        amounts.push(written(offer.cost.minor()));
        amounts.push(written(offer.end.net.minor()));
        amounts
            .extend(offer.sales.iter().flat_map(|sale| [sale.net.minor(), sale.gross.minor()]).map(written));
        amounts.extend(offer.shares.iter().map(|share| written(share.share.minor())));
    }
    // A small whole number may be a count.
    amounts.retain(|amount| amount.len() > 3);
    amounts
}

#[test]
fn the_bench_sees_no_amount() {
    let stationery = stationery();
    for quote in quotes() {
        let view = seen(&quote, "office");
        for offer in &quote.offers {
            let sheet = sheet::bench(&given(&view, &stationery, Language::English), &offer.id).unwrap();
            let text = text(&set(&sheet, &[]).unwrap());
            for amount in amounts(&quote) {
                assert!(!text.contains(&amount), "{}: the bench reads {amount}", quote.reference);
            }
            for word in [quote.currency.code(), "price", "Net", "VAT"] {
                assert!(!text.split_whitespace().any(|other| other == word), "the bench reads {word}");
            }
        }
    }
}

#[test]
fn a_customer_reads_no_cost_and_no_share() {
    let stationery = stationery();
    for quote in quotes() {
        let sheet = Kind::Quote.sheet(&quote, &stationery, Language::English).unwrap();
        let text = text(&set(&sheet, &[]).unwrap());
        let told: Vec<String> = seen_amounts(&quote);
        for offer in &quote.offers {
            for share in &offer.shares {
                let written = figures::amount(Language::English, share.share.minor(), quote.currency);
                let own = told.contains(&written) || written.len() < 4;
                assert!(own || !text.contains(&written), "{}: the customer reads a share", quote.reference);
            }
            let cost = figures::amount(Language::English, offer.cost.minor(), quote.currency);
            assert!(told.contains(&cost) || !text.contains(&cost), "the customer reads the cost");
        }
    }
}

/// The amounts that a customer sees, as written.
fn seen_amounts(quote: &Quote) -> Vec<String> {
    let view = seen(quote, "customer");
    view.offers()
        .flat_map(|offer| {
            let lines = offer.end.lines.iter().map(|line| line.net_minor);
            let sales = offer.sales.iter().flat_map(|sale| {
                let vat = sale.vat.iter().flat_map(|group| [group.base_minor, group.tax_minor]);
                [sale.net_minor, sale.gross_minor].into_iter().chain(vat)
            });
            lines.chain(sales).collect::<Vec<_>>()
        })
        .map(|minor| figures::amount(Language::English, minor, quote.currency))
        .collect()
}

#[test]
fn whoever_may_not_see_a_sheet_gets_none() {
    let stationery = stationery();
    let quote = quote(2).unwrap();
    let customer = seen(&quote, "customer");
    let given = given(&customer, &stationery, Language::English);
    let partner = quote.route.last().unwrap().code.clone();
    assert!(matches!(sheet::office(&given), Err(sheet::NoSheet::NotHis { .. })));
    assert!(matches!(sheet::partner(&given, &partner), Err(sheet::NoSheet::NotHis { .. })));
    assert!(matches!(sheet::bench(&given, "elsewhere"), Err(sheet::NoSheet::Offer { .. })));
}
