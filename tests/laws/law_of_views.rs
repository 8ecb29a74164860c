//! Who sees what: the customer the end price and its lines, a partner besides what he buys and sells at and
//! what he keeps, the office and the accountant everything.

use evenfare_engine::category::Work;
use evenfare_engine::flag::Flag;
use evenfare_engine::quote::{Offer, Quote};
use evenfare_engine::supply::VatCategory;
use evenfare_engine::text::Code;
use evenfare_engine::trail::{From, Step};
use evenfare_engine::view::{OfferView, Reader, view};
use proptest::prelude::*;
use proptest::test_runner::TestCaseResult;

use crate::run::{count, fail, law};

fn sees_all(reader: &Reader) -> bool {
    matches!(reader, Reader::Office | Reader::Accountant)
}

/// Is he the seller or the buyer of that sale, of those from the workshop outward?
fn sees_sale(reader: &Reader, offer: &Offer, index: usize) -> bool {
    match reader {
        Reader::Office | Reader::Accountant => true,
        Reader::Customer => index + 1 == offer.sales.len(),
        Reader::Partner(own) => [&offer.sales[index].seller, &offer.sales[index].buyer].contains(&own),
    }
}

fn sees_figure(reader: &Reader, offer: &Offer, figure: &str) -> bool {
    if sees_all(reader) || ["end.", "net.", "warranty."].iter().any(|of| figure.starts_with(of)) {
        return true;
    }
    if let Some(rest) = figure.strip_prefix("sale.") {
        let number: usize = rest.split('.').next().unwrap().parse().unwrap();
        return sees_sale(reader, offer, number - 1);
    }
    let Reader::Partner(own) = reader else { return false };
    let whole = ["discount", "agreed", "share"].map(|of| format!("{of}.{own}"));
    let credits = Work::ALL.iter().map(|work| format!("credit.{own}.{work}"));
    whole.into_iter().chain(credits).any(|his| his == figure)
}

/// The names of the steps, each with those of the figures that go into it.
fn names<'s>(steps: impl Iterator<Item = &'s Step>) -> Vec<(&'s str, Vec<&'s str>)> {
    let figures = |step: &'s Step| {
        let from = step.inputs.iter().map(|input| match &input.from {
            From::Figure(name) => name.as_str(),
            From::Tariff(_) | From::Job(_) => "",
        });
        (step.figure.as_str(), from.collect())
    };
    steps.map(figures).collect()
}

fn seen(reader: &Reader, offer: &Offer, seen: &OfferView) -> TestCaseResult {
    let all = sees_all(reader);
    let minor = offer.workshop_net.minor();
    prop_assert_eq!(seen.workshop_net_minor, all.then_some(minor));
    prop_assert_eq!(seen.cost_minor, all.then_some(offer.cost.minor()));
    prop_assert_eq!(seen.contribution_minor, all.then(|| minor - offer.cost.minor()));
    prop_assert_eq!(seen.costs.as_ref().map(Vec::len), all.then_some(offer.costs.len()));

    let shares = offer.shares.iter().filter(|share| all || *reader == Reader::Partner(share.partner.clone()));
    let shares: Vec<(&Code, i64)> = shares.map(|share| (&share.partner, share.share.minor())).collect();
    let found: Vec<_> = seen.shares.iter().map(|share| (&share.partner, share.share_minor)).collect();
    prop_assert_eq!(found, shares);

    let sales = (0..offer.sales.len()).filter(|&index| sees_sale(reader, offer, index));
    let sales: Vec<_> = sales.map(|index| &offer.sales[index]).collect();
    let nets = sales.iter().map(|sale| (&sale.buyer, sale.net.minor())).collect::<Vec<_>>();
    prop_assert_eq!(seen.sales.iter().map(|s| (&s.buyer, s.net_minor)).collect::<Vec<_>>(), nets);

    let flags = offer.flags.iter().copied().filter(|flag| match flag {
        Flag::UnderFloor => all,
        Flag::SharesScaled => *reader != Reader::Customer,
        Flag::SeveralInvoices => sales.iter().any(|sale| {
            let outside = sale.vat.iter().filter(|group| group.category == VatCategory::O).count();
            outside > 0 && outside < sale.vat.len()
        }),
        _ => true,
    });
    prop_assert_eq!(&seen.flags, &flags.collect::<Vec<_>>());

    // How a line of the end price is built up is the workshop's own affair.
    let shown =
        |step: &&Step| sees_figure(reader, offer, &step.figure) && (all || !step.figure.starts_with("net."));
    let mut working = names(offer.working.iter().filter(shown));
    for (_, figures) in &mut working {
        figures.retain(|figure| figure.is_empty() || sees_figure(reader, offer, figure));
    }
    prop_assert_eq!(names(seen.working.iter()), working);
    Ok(())
}

fn held(quote: &Quote, reader: &Reader) -> TestCaseResult {
    prop_assert_eq!(reader.to_string().parse(), Ok(reader.clone()));
    let read = view(quote, reader).ok_or_else(|| fail(format!("{reader} sees nothing")))?;
    let main = &quote.offers[0];
    let route = quote.route.iter().filter(|party| {
        let mut own = (0..main.sales.len()).filter(|&index| sees_sale(reader, main, index));
        own.any(|index| [&main.sales[index].seller, &main.sales[index].buyer].contains(&&party.code))
    });
    let codes: Vec<&Code> = read.route.iter().map(|party| &party.code).collect();
    prop_assert_eq!(codes, route.map(|party| &party.code).collect::<Vec<_>>(), "whom {} knows", reader);
    let offers: Vec<&OfferView> = read.offers().collect();
    prop_assert_eq!(offers.len(), quote.offers.len());
    for (offer, view) in quote.offers.iter().zip(offers) {
        seen(reader, offer, view)?;
    }
    let told = if *reader == Reader::Customer { 0 } else { quote.refused.len() };
    prop_assert_eq!(read.refused.len(), told);
    for (floor, view) in quote.refused.iter().zip(&read.refused) {
        let all = sees_all(reader);
        prop_assert_eq!(view.shares_minor, all.then_some(floor.shares.minor()));
        prop_assert_eq!(view.available_minor, all.then_some(floor.available.minor()));
        prop_assert_eq!(view.refused_by.as_ref(), Some(&floor.refused_by).filter(|_| all));
    }
    Ok(())
}

#[test]
fn a_reader_sees_what_is_his() {
    law("a_reader_sees_what_is_his", "views", |world, tally| {
        let Some(quote) = world.quote(tally)? else { return Ok(()) };
        let partners = quote.route.iter().map(|partner| Reader::Partner(partner.code.clone()));
        for reader in [Reader::Office, Reader::Accountant, Reader::Customer].into_iter().chain(partners) {
            held(&quote, &reader)?;
            count(&tally.also);
        }
        let others = world.tariff.partners.iter().map(|row| &row.code);
        for other in others.filter(|code| !quote.route.iter().any(|party| party.code == **code)) {
            prop_assert!(
                view(&quote, &Reader::Partner(other.clone())).is_none(),
                "{other} is not on the route"
            );
        }
        Ok(())
    });
}
