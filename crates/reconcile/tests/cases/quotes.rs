//! What was agreed, made of the demo world's own quotes.

use std::path::Path;

use evenfare_engine::category::Work;
use evenfare_engine::money::{Cost, Net, Share};
use evenfare_engine::quote::Quote;
use evenfare_engine::{brief, quote};
use evenfare_files::{read_job, read_tariff};
use evenfare_reconcile::Inputs;
use evenfare_reconcile::agreed::{Agreed, NotAgreed};
use evenfare_reconcile::difference::Reason;
use evenfare_reconcile::firm::Firms;
use evenfare_reconcile::input::{InvoiceKind, Leg};
use evenfare_reconcile::reconcile;
use evenfare_reconcile::what_if::{OtherAgreements, Past};

use crate::world;

/// Every quote of the demo world, with and without its working, those that a floor refuses left out.
fn quotes() -> Vec<(Quote, Quote)> {
    let bakery = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/bakery");
    let tariffs = read_tariff(&bakery.join("tariff")).unwrap();
    let mut files: Vec<_> =
        std::fs::read_dir(bakery.join("jobs")).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    let jobs = files.iter().map(|path| read_job(path).unwrap().0);
    let quoted = jobs.filter_map(|job| {
        let edition = tariffs.on(job.received).unwrap();
        Some((quote(&job, edition).ok()?, brief(&job, edition).unwrap()))
    });
    let quotes: Vec<(Quote, Quote)> = quoted.collect();
    assert!(quotes.len() >= 10, "{} quotes", quotes.len());
    quotes
}

/// A month in which all that the quotes agreed was invoiced and paid; their own currencies, and yen and
/// dinars at rates of the same day.
fn paid_in_full(agreed: &[Agreed]) -> Inputs {
    let mut inputs = world::empty();
    let rate = |code: &str, rate: &str| {
        (world::day(0) - chrono::Days::new(900), world::currency(code), rate.parse().unwrap())
    };
    inputs.rates = evenfare_reconcile::rates::Rates::new([
        rate("USD", "1.1172"),
        rate("GBP", "0.8338"),
        rate("CHF", "0.9194"),
        rate("JPY", "169.14"),
        rate("KWD", "0.3426"),
    ]);
    inputs.terms.until = agreed.iter().map(|one| one.invoice_by).max().unwrap() + chrono::Days::new(60);
    let mut account = world::bank::Account::default();
    for (number, one) in agreed.iter().enumerate() {
        for (place, sale) in one.sales.iter().enumerate() {
            let mut invoice = world::invoice(one, number, place, &sale.vat, sale.net.minor());
            if invoice.net_minor < 0 {
                invoice.kind = InvoiceKind::CreditNote;
            }
            inputs.invoices.push(invoice);
        }
        let first = &one.sales[0];
        let on = one.invoice_by + chrono::Days::new(3);
        let eur = world::currency("EUR");
        let came = inputs.rates.converted(first.gross.minor(), one.currency, eur, on).unwrap();
        if came != 0 {
            let mut payment = world::payment(came, &first.buyer, &one.number);
            payment.instructed = Some((first.gross.minor(), one.currency));
            account.book(on, vec![payment]);
        }
        inputs.agreed.push(one.clone());
    }
    inputs.statements = account.statements();
    inputs
}

fn all_agreed() -> Vec<(Quote, Agreed)> {
    let mut firms = Firms::default();
    let mut agreed = Vec::new();
    for (number, (quote, _)) in quotes().into_iter().enumerate() {
        let issued = format!("Q-2026-{number:04}");
        for (place, offer) in quote.offers.iter().enumerate() {
            let number = if place == 0 { issued.clone() } else { format!("{issued}-{place}") };
            let one = Agreed::new(&number, &quote, &offer.id, quote.quoted, &mut firms).unwrap();
            agreed.push((quote.clone(), one));
        }
    }
    agreed
}

#[test]
fn what_is_agreed_is_what_the_quote_says() {
    let mut credits = 0;
    for (quote, agreed) in all_agreed() {
        let offer = quote.offers.iter().find(|offer| *offer.id == *agreed.offer).unwrap();
        assert_eq!(agreed.end_net(), offer.end.net);
        assert_eq!(agreed.workshop_net(), offer.workshop_net);
        assert_eq!(agreed.sales.len(), offer.sales.len());
        for (own, sale) in agreed.sales.iter().zip(&offer.sales) {
            assert_eq!((own.net, own.gross, &own.vat), (sale.net, sale.gross, &sale.vat));
        }
        let shares: Vec<Share> = agreed.shares.iter().map(|share| share.share).collect();
        assert_eq!(shares, offer.shares.iter().map(|share| share.share).collect::<Vec<_>>());
        let families = &agreed.families;
        assert_eq!(Net::sum(families.iter().map(|part| part.end_net)).unwrap(), offer.end.net);
        assert_eq!(Net::sum(families.iter().map(|part| part.workshop_net)).unwrap(), offer.workshop_net);
        assert_eq!(Cost::sum(families.iter().map(|part| part.cost)).unwrap(), offer.cost);
        for share in &agreed.shares {
            assert!(share.credits.iter().all(|(_, credit)| *credit > Share::ZERO));
            // The agreements of the demo world are named for their partners.
            if let Some(agreement) = &share.agreement {
                assert!(agreement.contains(share.partner.trim_start_matches("P-")), "{agreement}");
            }
            let of_partner = format!("credit.{}", share.partner);
            let credited = offer.working.iter().filter_map(|step| step.figure.rsplit_once('.'));
            let own = credited.filter(|(of, _)| *of == of_partner).count();
            assert!(share.credits.len() <= own, "{} has credits of others", share.partner);
            credits += share.credits.len();
        }
        for (leg, work) in [(Leg::In, Work::LegIn), (Leg::Out, Work::LegOut)] {
            let carried = agreed.leg(leg).carried_by_partner;
            assert!(!carried || agreed.leg(leg).cost == Cost::ZERO);
            assert_eq!(carried && agreed.end_net() != Net::ZERO, agreed.credited(work).is_some());
        }
    }
    assert!(credits > 3, "{credits} credits were read off the working");
}

#[test]
fn a_brief_quote_agrees_the_same_prices() {
    let mut firms = Firms::default();
    for (quote, brief) in quotes() {
        let whole = Agreed::new("Q-1", &quote, "main", quote.quoted, &mut firms).unwrap();
        let mut other = Agreed::new("Q-1", &brief, "main", quote.quoted, &mut firms).unwrap();
        // Credits and agreements stand in the working.
        for (own, share) in other.shares.iter_mut().zip(&whole.shares) {
            assert_eq!((&own.agreement, own.credits.len()), (&None, 0));
            (own.agreement, own.credits) = (share.agreement.clone(), share.credits.clone());
        }
        assert_eq!(whole, other);
    }
}

#[test]
fn nothing_is_agreed_by_what_is_no_offer() {
    let (quote, _) = quotes().swap_remove(0);
    let mut firms = Firms::default();
    let none = Agreed::new("Q-1", &quote, "another", quote.quoted, &mut firms);
    assert_eq!(none, Err(NotAgreed::NoSuchOffer("another".into())));
    let reversed = quote.reversed().unwrap();
    assert_eq!(Agreed::new("Q-1", &reversed, "main", quote.quoted, &mut firms), Err(NotAgreed::Reversal));
}

#[test]
fn the_demo_world_paid_in_full_has_no_difference() {
    let agreed: Vec<Agreed> = all_agreed().into_iter().map(|(_, agreed)| agreed).collect();
    let reconciled = reconcile(&paid_in_full(&agreed)).unwrap();
    assert_eq!(reconciled.differences, []);
    assert_eq!(reconciled.undecided, []);
    assert_eq!(reconciled.overview.all.quotes, u64::try_from(agreed.len()).unwrap());
    let margin = reconciled.overview.all;
    assert_eq!(margin.end_net_minor, margin.shares_minor + margin.workshop_net_minor);
}

#[test]
fn an_invoice_by_another_agreement_is_known() {
    let bakery = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/bakery");
    let tariffs = read_tariff(&bakery.join("tariff")).unwrap();
    let (mut job, _) = read_job(&bakery.join("jobs/02-two-partners.toml")).unwrap();
    let edition = tariffs.on(job.received).unwrap();
    let mut firms = Firms::default();
    let issued = quote(&job, edition).unwrap();
    let mut agreed = Agreed::new("Q-2026-0007", &issued, "main", issued.quoted, &mut firms).unwrap();
    // The same job as if it had come before the first of September, when another agreement began.
    job.received = "2026-08-15".parse().unwrap();
    let other = quote(&job, tariffs.on(job.received).unwrap()).unwrap();
    let other = Agreed::new("Q-2026-0007", &other, "main", issued.quoted, &mut firms).unwrap();
    agreed.had_it_been(&other);
    agreed.had_it_been(&other);
    let share = agreed.shares[0].clone();
    assert_eq!(share.agreement.as_deref(), Some("A-BRZEG-26"));
    assert_eq!(share.by_others.len(), 1);
    assert_eq!(&*share.by_others[0].0, "A-BRZEG-24");
    // He keeps more by one agreement than by the other, and is charged less.
    let more = share.by_others[0].1.minor() - share.share.minor();
    assert_ne!(more, 0);
    let mut inputs = paid_in_full(&[agreed.clone()]);
    let net = agreed.workshop_net().minor() - more;
    let reverse_charge = 1;
    inputs.invoices[0] = world::invoice(&agreed, 0, 0, &world::groups(reverse_charge, net), net);
    let reconciled = reconcile(&inputs).unwrap();
    let of_share =
        reconciled.differences.iter().find(|found| found.difference.reason == Reason::AgreementDate);
    assert_eq!(of_share.unwrap().difference.amount_minor, more);
}

#[test]
fn an_agreement_that_another_edition_has_counts_as_well() {
    let bakery = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/bakery");
    let tariffs = read_tariff(&bakery.join("tariff")).unwrap();
    let (mut job, _) = read_job(&bakery.join("jobs/02-two-partners.toml")).unwrap();
    job.received = "2026-03-10".parse().unwrap();
    (job.quoted, job.dispatch, job.tax_date) = (None, None, None);
    let edition = tariffs.on(job.received).unwrap();
    assert!(edition.partners().find("P-BRZEG").unwrap().agreements.len() == 1, "the other is of a later one");
    let issued = quote(&job, edition).unwrap();
    let mut firms = Firms::default();
    let mut agreed = Agreed::new("Q-2026-0007", &issued, "main", issued.quoted, &mut firms).unwrap();
    let past = Past { number: "Q-2026-0007", job: &job, quote: &issued, accepted: Some("main") };
    let others = OtherAgreements::new(tariffs.editions());
    others.note(&mut agreed, &past, &mut firms);
    others.note(&mut agreed, &past, &mut firms);
    let noted: Vec<Vec<&str>> = agreed
        .shares
        .iter()
        .map(|share| share.by_others.iter().map(|(agreement, _)| &**agreement).collect())
        .collect();
    assert_eq!(noted, [vec!["A-BRZEG-26"], vec![]], "each other agreement once");
    // By the newer one he has more of the parts, the labour and the tests.
    assert!(agreed.shares[0].by_others[0].1 > agreed.shares[0].share);
}

/// What is of a unit counts for its family; what is of none is shared out by that, to the cent.
#[test]
fn the_end_price_is_shared_out_over_families_by_what_their_units_come_to() {
    let mut uneven = 0;
    for (quote, agreed) in all_agreed() {
        let offer = quote.offers.iter().find(|offer| *offer.id == *agreed.offer).unwrap();
        let own = |family: &str| -> i128 {
            let units = offer.units.iter().filter(|unit| unit.family.as_str() == family);
            let of_unit = |id: &str| units.clone().any(|unit| id.split('/').next() == Some(unit.id.as_str()));
            offer.lines.iter().filter(|line| of_unit(&line.id)).map(|line| i128::from(line.net.minor())).sum()
        };
        let all: i128 = agreed.families.iter().map(|part| own(&part.family)).sum();
        let end: i64 = agreed.families.iter().map(|part| part.end_net.minor()).sum();
        assert_eq!(end, offer.end.net.minor(), "{}", agreed.number);
        for part in agreed.families.iter().filter(|_| all > 0) {
            // Within a cent of its share of the end price.
            let apart = i128::from(part.end_net.minor()) * all - i128::from(end) * own(&part.family);
            assert!(apart.abs() < all, "{} {}", agreed.number, part.family);
            uneven += usize::from(own(&part.family) * i128::try_from(agreed.families.len()).unwrap() != all);
        }
    }
    assert!(uneven > 1, "no quote has families of different amounts");
}
