//! What a quote holds itself to before it is closed.

use evenfare_engine::money::{Cost, Gross, Net, Share, Vat};
use evenfare_engine::quote::{Draft, Offer, Quote};

use super::{DE, priced, sold};
use crate::worlds::code;

#[test]
fn what_does_not_add_up_is_not_sealed() {
    let (tariff, job) = sold(&[DE, DE, DE], "100", "50", "0");
    let quote = priced(&tariff, &job).unwrap();
    let holds = |change: &dyn Fn(&mut Offer)| {
        let mut draft = Draft::clone(&quote);
        change(&mut draft.offers[0]);
        draft.seal().is_ok()
    };
    assert!(holds(&|_| {}));
    let cent = |amount: &mut Net| *amount = amount.plus(Net::from_minor(1).unwrap()).unwrap();
    assert!(!holds(&|offer| cent(&mut offer.lines[0].net)));
    assert!(!holds(&|offer| cent(&mut offer.end.net)));
    assert!(!holds(&|offer| cent(&mut offer.workshop_net)));
    assert!(!holds(&|offer| cent(&mut offer.sales[0].net)));
    assert!(!holds(&|offer| cent(&mut offer.sales[1].lines[0])));
    assert!(!holds(&|offer| cent(&mut offer.sales[0].vat[0].base)));
    assert!(!holds(&|offer| offer.end.vat_due = None));
    assert!(!holds(&|offer| offer.end.vat_rate = None));
    assert!(!holds(&|offer| drop(offer.shares.pop())));
    assert!(!holds(&|offer| drop(offer.sales.pop())));
    assert!(!holds(&|offer| offer.shares[0].partner = code("B")));
    assert!(!holds(&|offer| offer.sales[1].seller = code("B")));
    // A line of nothing more, and a cent moved between two lines, change no sum.
    assert!(!holds(&|offer| offer.sales[0].lines.push(Net::ZERO)));
    let less = |amount: &mut Net| *amount = amount.minus(Net::from_minor(1).unwrap()).unwrap();
    assert!(!holds(&|offer| {
        cent(&mut offer.sales[1].lines[0]);
        less(&mut offer.sales[1].lines[1]);
    }));
    assert!(!holds(&|offer| {
        let group = &mut offer.sales[0].vat[0];
        group.tax = group.tax.plus(Vat::from_minor(1).unwrap()).unwrap();
        offer.sales[0].gross = offer.sales[0].gross.plus(Gross::from_minor(1).unwrap()).unwrap();
    }));
    assert!(!holds(&|offer| offer.sales[0].gross = Gross::ZERO));
    assert!(!holds(&|offer| offer.cost = offer.cost.plus(Cost::from_minor(1).unwrap()).unwrap()));
}

/// A quote of 100 of which the workshop keeps so much, and the partner the rest.
#[test]
fn nobody_keeps_less_than_nothing_and_of_a_reversal_nobody_more() {
    let (tariff, mut job) = sold(&[DE, DE, DE], "100", "50", "0");
    job.units.truncate(1);
    let quote = priced(&tariff, &job).unwrap();
    let reversal = quote.reversed().unwrap();
    let holds = |quote: &Quote, kept: i64| {
        let mut draft = Draft::clone(quote);
        let offer = &mut draft.offers[0];
        let net = Net::from_minor(kept).unwrap();
        offer.workshop_net = net;
        offer.shares[0].share = Share::from_minor(offer.end.net.minor() - kept).unwrap();
        let sale = &mut offer.sales[0];
        (sale.net, sale.lines[0], sale.vat[0].base) = (net, net, net);
        (sale.vat[0].tax, sale.gross) = (Vat::ZERO, Gross::from_minor(kept).unwrap());
        sale.vat[0].rate = None;
        draft.seal().is_ok()
    };
    for (kept, expect) in [(-1, false), (0, true), (1, true), (10_000, true), (10_001, false)] {
        assert_eq!(holds(&quote, kept), expect, "{kept}");
        assert_eq!(holds(&reversal, -kept), expect, "{kept} taken back");
    }
}
