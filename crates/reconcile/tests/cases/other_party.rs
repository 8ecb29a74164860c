//! Credit notes to another party than what they name: they take nothing back of that, and it is told.

use std::sync::Arc;

use evenfare_reconcile::chart::Role;
use evenfare_reconcile::input::{Invoice, InvoiceKind, Trader};
use evenfare_reconcile::terms::Decision;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};

use crate::booked::{booked, reasons};
use crate::world::{Plan, agreed, currency, day, empty, invoice, invoice_number, payment, place};

/// Two direct sales of 50.00 and 60.00 without VAT, invoiced to two customers and due in June.
fn sold() -> Inputs {
    let mut inputs = empty();
    for (number, net) in [(0, 5_000), (1, 6_000)] {
        let of = agreed(&Plan { net, vat: [1; 3], day: 3, ..Plan::default() }, number);
        inputs.invoices.push(invoice(&of, number, 0, &of.sales[0].vat, net));
        inputs.agreed.push(of);
    }
    inputs
}

/// A credit note of so much to who bought by one invoice, about another.
fn credit(to: &Invoice, gross: i64, preceding: Option<&str>, quote: Option<&str>) -> Invoice {
    let mut vat = to.vat.clone();
    vat[0].base_minor = gross;
    Invoice {
        kind: InvoiceKind::CreditNote,
        number: "G-1".into(),
        place: place("credits.xml", 1),
        quote: quote.map(Into::into),
        preceding: preceding.map(Into::into),
        issued: day(9),
        due: None,
        net_minor: gross,
        gross_minor: gross,
        payable_minor: gross,
        vat,
        ..to.clone()
    }
}

fn stranger(name: &str) -> Arc<Trader> {
    Trader { name: name.into(), vat_id: None, country: None }.into()
}

/// What is told: the reason, whom it concerns, how much and the last of the papers.
fn told(books: &Reconciled) -> Vec<(&'static str, String, i64, String)> {
    let told = books.differences.iter().map(|found| &found.difference);
    let last =
        |documents: &[evenfare_reconcile::difference::Document]| documents.last().unwrap().number.to_string();
    let mut told: Vec<_> = told
        .map(|one| (one.reason.code(), one.party.to_string(), one.amount_minor, last(&one.documents)))
        .collect();
    told.sort();
    told
}

/// What a party owes by the accounts.
fn owed(books: &Reconciled, party: &str) -> i64 {
    let mut own = books.accounts.months().iter().filter(|one| &*one.party == party);
    own.next_back().map_or(0, |one| one.closing_minor)
}

fn of(reason: &'static str, party: &str, minor: i64, paper: &str) -> (&'static str, String, i64, String) {
    (reason, party.to_owned(), minor, paper.to_owned())
}

#[test]
fn it_lessens_no_invoice_of_another() {
    let inputs = sold();
    let number = invoice_number(0);
    // In whole and in part; by the invoice, however it is spelled, or by the quote; to a customer and to a stranger.
    for gross in [5_000, 1_200] {
        for (preceding, quote) in [
            (Some(&*number), None),
            (Some("r 2026 00000"), None),
            (None, Some("Q-2026-0000")),
            (Some(&*number), Some("Q-2026-0000")),
        ] {
            for to in [inputs.invoices[1].buyer.clone(), stranger("Somebody Else")] {
                let mut inputs = inputs.clone();
                let party = to.vat_id.clone().unwrap_or(to.name.clone());
                let paper = credit(&inputs.invoices[0], gross, preceding, quote);
                inputs.invoices.push(Invoice { buyer: to, ..paper });
                let paid = [(20, payment(6_000, &inputs.agreed[1].sales[0].buyer, &invoice_number(1)))];
                let (_, books) = booked(inputs, &paid);
                let paper = if preceding.is_some() { &*number } else { "G-1" };
                let expect = [
                    of("credit_other_party", &party, -gross, paper),
                    of("unpaid", "FR000000000", -5_000, &number),
                ];
                assert_eq!(told(&books), expect, "{gross} {preceding:?} {quote:?}");
                assert_eq!((owed(&books, "FR000000000"), owed(&books, &party)), (5_000, -gross));
                let sum: i128 = books.journal.balances().unwrap().iter().map(|(_, sum)| sum).sum();
                assert_eq!(sum, 0);
            }
        }
    }
}

/// The quote is one customer's, the invoice that is named the other's own: it is told with the invoice.
#[test]
fn the_invoice_that_it_names_is_told_also_where_it_is_of_another_quote() {
    for (preceding, paper) in [
        (invoice_number(1), invoice_number(1)),
        ("r2026/00001".into(), invoice_number(1)),
        ("R-9".into(), "G-1".into()),
    ] {
        let mut inputs = sold();
        let credit = credit(&inputs.invoices[1], 1_200, Some(&preceding), Some("Q-2026-0000"));
        inputs.invoices.push(credit);
        let payments: Vec<_> = [(0, 5_000), (1, 6_000)]
            .map(|(at, net)| (20, payment(net, &inputs.agreed[at].sales[0].buyer, &invoice_number(at))))
            .into();
        let (_, books) = booked(inputs, &payments);
        assert_eq!(told(&books), [of("credit_other_party", "FR000000001", -1_200, &paper)]);
        let quotes = books.differences.iter().filter(|found| found.difference.quote.is_some());
        assert_eq!(quotes.count(), 0);
    }
}

/// Of two invoices that it names one is to another: it takes nothing back, whichever it names first.
#[test]
fn a_credit_note_over_invoices_to_two_parties_takes_back_neither() {
    for [first, second] in [[0, 1], [1, 0]] {
        let mut inputs = sold();
        inputs.invoices[1].quote = Some("Q-2026-0000".into());
        let paper = credit(&inputs.invoices[0], 5_000, Some(&invoice_number(first)), Some("Q-2026-0000"));
        let other_preceding = vec![invoice_number(second).into()].into_boxed_slice();
        inputs.invoices.push(Invoice { other_preceding, ..paper });
        let (_, books) = booked(inputs, &[]);
        let found = told(&books);
        let of_credit = found.iter().filter(|one| one.0 == "credit_other_party").count();
        let unpaid = found.iter().filter(|one| one.0 == "unpaid" && one.2 == -5_000).count();
        assert_eq!((of_credit, unpaid), (1, 1), "{first}: {found:?}");
    }
}

/// The quote is his own, the invoice that it names the other's: it is of the quote, and that it says both is told.
#[test]
fn a_quote_and_an_invoice_that_contradict_each_other_are_told() {
    let mut inputs = sold();
    inputs.invoices.push(credit(&inputs.invoices[1], 1_000, Some("r 2026/00000"), Some("Q-2026-0001")));
    let paid = [0, 1].map(|at| {
        let of = &inputs.agreed[at].sales[0];
        (20, payment(5_000, &of.buyer, &invoice_number(at)))
    });
    let less = of("charged_less", "FR000000001", -1_000, "G-1");
    let contradicted = of("credit_other_party", "FR000000001", -1_000, &invoice_number(0));
    let (mut one, books) = booked(inputs, &paid);
    assert_eq!(told(&books), [less.clone(), contradicted.clone()]);
    // So it is where it names his own as well, whichever it names first: that was told of the first alone.
    for [first, second] in [["R-2026-00001", "R-2026-00000"], ["R-2026-00000", "R-2026-00001"]] {
        let mut both = one.clone();
        let paper = both.invoices.last_mut().unwrap();
        paper.preceding = Some(first.into());
        paper.other_preceding = vec![second.into()].into_boxed_slice();
        assert_eq!(told(&reconcile(&both).unwrap()), [less.clone(), contradicted.clone()], "{first}");
    }
    // Of one party it is of no other's.
    one.agreed[0].sales[0].buyer = one.agreed[1].sales[0].buyer.clone();
    one.invoices[0].buyer = one.invoices[1].buyer.clone();
    one.statements[0].batches[0].payments[0].party = one.statements[0].batches[1].payments[0].party.clone();
    assert_eq!(told(&reconcile(&one).unwrap()), [less]);
}

#[test]
fn it_lessens_no_invoice_of_nothing_known_that_is_of_another() {
    let mut inputs = sold();
    let unsold = Invoice {
        number: "R-C".into(),
        quote: None,
        gross_minor: 777,
        net_minor: 777,
        ..inputs.invoices[0].clone()
    };
    inputs.invoices.push(credit(&inputs.invoices[1], 777, Some("R-C"), None));
    inputs.invoices.push(unsold);
    let paid = [0, 1].map(|number| {
        let of = &inputs.agreed[number].sales[0];
        (20, payment(of.gross.minor(), &of.buyer, &invoice_number(number)))
    });
    let (_, books) = booked(inputs.clone(), &paid);
    let expect = [
        of("credit_other_party", "FR000000001", -777, "R-C"),
        of("invoice_unknown", "workshop", 777, "R-C"),
        of("unpaid", "FR000000000", -777, "R-C"),
    ];
    assert_eq!(told(&books), expect);
    // Who has it can be paid out, by its amount as by its number.
    for words in ["", "G-1"] {
        let back = payment(-777, &inputs.agreed[1].sales[0].buyer, words);
        let (_, books) = booked(inputs.clone(), &[paid[0].clone(), paid[1].clone(), (21, back)]);
        assert_eq!((told(&books), owed(&books, "FR000000001")), (expect.to_vec(), 0));
    }
}

#[test]
fn one_firm_is_one_party_however_it_is_named() {
    let mut inputs = sold();
    inputs.agreed.truncate(1);
    inputs.invoices.truncate(1);
    let by_name = Trader { vat_id: None, ..Trader::clone(&inputs.invoices[0].buyer) };
    for buyer in [by_name.clone(), Trader { name: "BAKERY-0".into(), ..by_name }] {
        for (preceding, quote) in [(Some("R-2026-00000"), None), (None, Some("Q-2026-0000"))] {
            let mut inputs = inputs.clone();
            let paper = credit(&inputs.invoices[0], 5_000, preceding, quote);
            inputs.invoices.push(Invoice { buyer: buyer.clone().into(), ..paper });
            assert_eq!(reasons(&reconcile(&inputs).unwrap()), [("invoice_missing", -5_000)]);
        }
    }
}

#[test]
fn a_quote_without_an_invoice_is_without_one_still() {
    let mut inputs = sold();
    let paper = credit(&inputs.invoices[1], 5_000, None, Some("Q-2026-0000"));
    inputs.invoices = vec![paper];
    inputs.agreed.truncate(1);
    let expect = [
        of("credit_other_party", "FR000000001", -5_000, "G-1"),
        of("invoice_missing", "FR000000000", -5_000, "Q-2026-0000"),
    ];
    assert_eq!(told(&reconcile(&inputs).unwrap()), expect);
}

#[test]
fn whose_it_is_can_be_decided() {
    let mut inputs = sold();
    inputs.invoices.push(credit(&inputs.invoices[1], 1_000, Some(&invoice_number(0)), None));
    inputs.decisions = vec![Decision::Invoice {
        place: place("decided_invoices.csv", 2),
        seller: "workshop".into(),
        number: "G-1".into(),
        quote: Some("Q-2026-0001".into()),
    }];
    let paid = [0, 1].map(|number| {
        let of = &inputs.agreed[number].sales[0];
        let lessened = of.gross.minor() - if number == 1 { 1_000 } else { 0 };
        (20, payment(lessened, &of.buyer, &invoice_number(number)))
    });
    assert_eq!(reasons(&booked(inputs, &paid).1), [("charged_less", -1_000)]);
}

#[test]
fn what_another_names_can_still_be_taken_back() {
    let mut inputs = sold();
    let own = Invoice { number: "G-2".into(), ..credit(&inputs.invoices[0], 5_000, None, None) };
    inputs.invoices.push(credit(&inputs.invoices[1], 5_000, Some(&invoice_number(0)), None));
    inputs.invoices.push(own);
    let paid = [(20, payment(6_000, &inputs.agreed[1].sales[0].buyer, &invoice_number(1)))];
    let expect = [
        of("credit_other_party", "FR000000001", -5_000, &invoice_number(0)),
        of("invoice_missing", "FR000000000", -5_000, "G-2"),
    ];
    assert_eq!(told(&booked(inputs, &paid).1), expect);
}

#[test]
fn of_a_sale_that_two_have_invoices_of_each_has_his_own_lessened() {
    let mut inputs = sold();
    let (first, second) = (inputs.invoices[0].clone(), inputs.invoices[1].clone());
    let half = |of: &Invoice, number: &str| Invoice {
        number: number.into(),
        quote: first.quote.clone(),
        kind: InvoiceKind::Invoice,
        issued: first.issued,
        due: first.due,
        ..credit(of, 2_500, None, None)
    };
    inputs.agreed.truncate(1);
    inputs.invoices = vec![half(&first, "R-1"), half(&second, "R-2")];
    // Of the whole and of a part; what names nothing is of his own.
    for (gross, rest) in [(2_500, 0), (1_000, 1_500)] {
        let mut inputs = inputs.clone();
        inputs.invoices.push(credit(&second, gross, None, first.quote.as_deref()));
        let books = reconcile(&inputs).unwrap();
        let mut expect = vec![
            // One of the two did not buy.
            of("invoice_other_party", "FR000000001", rest, "G-1"),
            of("unpaid", "FR000000000", -2_500, "R-1"),
            of("unpaid", "FR000000001", -rest, "R-2"),
        ];
        expect.retain(|(_, _, minor, _)| *minor != 0);
        let others = told(&books).into_iter().filter(|one| one.0 != "charged_less");
        assert_eq!(others.collect::<Vec<_>>(), expect, "{gross}");
    }
}

#[test]
fn what_a_partner_writes_to_another_is_told_to_him() {
    let mut inputs = empty();
    inputs.terms.until = day(12);
    let deal = agreed(
        &Plan { partners: 1, net: 90_000, percents: [10, 0], vat: [1; 3], day: 3, ..Plan::default() },
        0,
    );
    let ours = invoice(&deal, 0, 0, &deal.sales[0].vat, deal.sales[0].net.minor());
    let theirs = invoice(&deal, 0, 1, &deal.sales[1].vat, 90_000);
    let paper = credit(&theirs, 90_000, Some(&theirs.number), None);
    inputs.invoices = vec![ours, theirs.clone(), Invoice { buyer: stranger("Somebody Else"), ..paper }];
    inputs.agreed.push(deal);
    assert_eq!(
        told(&reconcile(&inputs).unwrap()),
        [of("credit_other_party", "P-10", -90_000, &theirs.number)]
    );
}

/// What of no invoice is known is worth what its own day says, whatever stands before it in the order of numbers.
#[test]
fn a_credit_note_of_nothing_goes_by_the_rate_of_its_own_day() {
    let mut inputs = empty();
    inputs.rates = evenfare_reconcile::rates::Rates::new([
        (day(0), currency("USD"), "1.25".parse().unwrap()),
        (day(8), currency("USD"), "1".parse().unwrap()),
    ]);
    let deal = agreed(&Plan { net: 5_000, vat: [1; 3], day: 3, in_dollars: true, ..Plan::default() }, 1);
    let unsold =
        Invoice { number: "R-1".into(), quote: None, ..invoice(&deal, 1, 0, &deal.sales[0].vat, 5_000) };
    inputs.invoices.push(Invoice { number: "R-2".into(), ..credit(&unsold, 700, None, None) });
    inputs.invoices.push(unsold);
    // By this we are known.
    inputs.agreed.push(agreed(&Plan { net: 9_999, day: 45, ..Plan::default() }, 2));
    let books = reconcile(&inputs).unwrap();
    let owed = books.journal.balances().unwrap().into_iter().find(|(role, _)| *role == Role::Receivable);
    assert_eq!(owed.unwrap().1, 4_000 - 700);
}

/// Two invoices of one sale, of which one is to somebody else: the other counts, whichever was written first.
#[test]
fn an_invoice_to_another_than_who_bought_is_told() {
    let sold = sold();
    let (right, stray) = (sold.invoices[0].clone(), sold.invoices[1].buyer.clone());
    let paid = |inputs: Inputs| {
        let words = |at: usize| if at == 0 { "Q-2026-0000".to_owned() } else { invoice_number(at) };
        let of = |at: usize| inputs.agreed[at].sales[0].clone();
        let paid = [0, 1].map(|at| (20, payment(of(at).gross.minor(), &of(at).buyer, &words(at))));
        booked(inputs, &paid).1
    };
    for to in [stray, stranger("Somebody Else")] {
        let party = to.vat_id.clone().unwrap_or(to.name.clone());
        let to_another = of("invoice_other_party", &party, 5_000, "R-A");
        let wrong = Invoice { number: "R-A".into(), buyer: to, ..right.clone() };
        // Alone it counts for the sale: nothing is missing, and who bought may pay it.
        let mut alone = sold.clone();
        alone.invoices[0] = wrong.clone();
        let books = paid(alone.clone());
        assert_eq!((told(&books), owed(&books, &party)), (vec![to_another.clone()], 0));
        let [one] = books.differences.as_slice() else { panic!("{:?}", books.differences) };
        assert_eq!(one.difference.quote.as_deref(), Some("Q-2026-0000"));
        // Beside the right one, on the same day or before it.
        for days in [0, 2] {
            let mut both = sold.clone();
            both.invoices[0].issued = right.issued + chrono::Days::new(days);
            both.invoices.push(wrong.clone());
            assert_eq!(told(&paid(both)), std::slice::from_ref(&to_another));
        }
        // Taken back, in part or as a whole; then it is missing, or the right one is there.
        for (gross, number) in [(1_200, "G-1"), (5_000, "")] {
            let mut inputs = alone.clone();
            inputs.invoices.push(credit(&wrong, gross, Some("R-A"), None));
            let books = reconcile(&inputs).unwrap();
            let others: Vec<_> =
                told(&books).into_iter().filter(|one| one.0 == "invoice_other_party").collect();
            let left = of("invoice_other_party", &party, 3_800, number);
            assert_eq!(others, if gross == 5_000 { vec![] } else { vec![left] });
            if gross == 5_000 {
                inputs.invoices.push(right.clone());
                assert_eq!(told(&paid(inputs)), []);
            }
        }
    }
    // It is told in its own currency.
    let (buyer, dollars) = (stranger("Somebody Else"), currency("USD"));
    let mut inputs = sold.clone();
    inputs.invoices[0] = Invoice { buyer, currency: dollars, ..right };
    let books = reconcile(&inputs).unwrap();
    let all = books.differences.iter().map(|found| &found.difference);
    let other = all.filter(|one| one.reason.code() == "invoice_other_party");
    assert_eq!(other.map(|one| (one.currency, one.amount_minor)).collect::<Vec<_>>(), [(dollars, 5_000)]);
}

/// How a partner spells a name is his matter; a firm that is known, or another VAT identifier, is another.
#[test]
fn a_partner_may_spell_a_name_in_his_own_way() {
    let mut inputs = empty();
    inputs.terms.until = day(12);
    let deal = agreed(
        &Plan { partners: 1, net: 90_000, percents: [10, 0], vat: [1; 3], day: 3, ..Plan::default() },
        0,
    );
    inputs.invoices.push(invoice(&deal, 0, 0, &deal.sales[0].vat, deal.sales[0].net.minor()));
    inputs.invoices.push(invoice(&deal, 0, 1, &deal.sales[1].vat, 90_000));
    inputs.agreed.push(deal);
    let known = inputs.invoices[0].buyer.clone();
    let other_id = Trader { vat_id: Some("FR999999999".into()), ..Trader::clone(&stranger("Bakery")) };
    for (buyer, is_told) in [(stranger("The Bakery Zero"), false), (known, true), (other_id.into(), true)] {
        inputs.invoices[1].buyer = buyer;
        let number = inputs.invoices[1].number.to_string();
        let expect = is_told.then(|| of("invoice_other_party", "P-10", 90_000, &number));
        assert_eq!(told(&reconcile(&inputs).unwrap()), Vec::from_iter(expect));
    }
}
