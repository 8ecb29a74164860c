//! A partner who buys for himself is one firm, under the code of the partner.

use std::sync::Arc;

use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::input::{Invoice, Place};
use evenfare_reconcile::terms::BankAccount;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};

use crate::booked::{booked, reasons};
use crate::world::{Plan, agreed, empty, invoice, payment};

/// A sale of 2000.00 by partner P-10, who keeps 200.00 and sends an invoice of his own, and one of 500.00 to himself, as
/// its end customer: by the VAT identifier of the firm.
fn sold() -> (Inputs, Arc<Firm>) {
    let mut inputs = empty();
    let plan = Plan { partners: 1, net: 200_000, percents: [10, 0], vat: [1; 3], day: 3, ..Plan::default() };
    let of = agreed(&plan, 2);
    let partner = of.sales[0].buyer.clone();
    for sale in 0..2 {
        inputs.invoices.push(invoice(&of, 2, sale, &of.sales[sale].vat, of.sales[sale].net.minor()));
    }
    inputs.agreed.push(of);
    let mut of = agreed(&Plan { net: 50_000, vat: [1; 3], day: 5, ..Plan::default() }, 4);
    let vat_id = partner.vat_id.clone().unwrap();
    of.sales[0].buyer = Arc::new(Firm { id: vat_id, ..Firm::clone(&partner) });
    inputs.invoices.push(invoice(&of, 4, 0, &of.sales[0].vat, 50_000));
    inputs.agreed.push(of);
    (inputs, partner)
}

fn parties(books: &Reconciled) -> Vec<(&str, i64)> {
    books.accounts.months().iter().map(|one| (&*one.party, one.invoiced_minor)).collect()
}

/// With two codes of one identifier nobody knew him: his invoice was of nothing known and missed, his payments were asked
/// about, and he got no bonus.
#[test]
fn he_has_one_account_and_his_bonus() {
    let (inputs, partner) = sold();
    let all = [(20, payment(180_000, &partner, "")), (21, payment(50_000, &partner, ""))];
    for reverse in [false, true] {
        let mut inputs = inputs.clone();
        if reverse {
            inputs.agreed.reverse();
        }
        let (_, books) = booked(inputs, &all);
        assert_eq!((reasons(&books), books.undecided.len()), (vec![], 0));
        assert_eq!(parties(&books), [("P-10", 230_000)]);
        // 1.5 % of 2300.00.
        assert_eq!((books.bonuses[0].turnover_minor, books.bonuses[0].due_minor), (230_000, 3_450));
    }
}

#[test]
fn what_is_told_of_his_own_purchase_is_told_to_him() {
    let (mut inputs, partner) = sold();
    // Of his own purchase there is no invoice, or one that names nothing.
    let own = inputs.invoices.pop().unwrap();
    let (mut inputs, books) = booked(inputs, &[(20, payment(180_000, &partner, ""))]);
    let told = &books.differences[0].difference;
    assert_eq!((reasons(&books), &*told.party), (vec![("invoice_missing", -50_000)], "P-10"));
    inputs.invoices.push(Invoice { quote: None, ..own });
    // His account may be listed under either name.
    for firm in ["P-10", "ATU13585620"] {
        let place = Place { file: "bank_accounts.csv".into(), line: 2 };
        inputs.terms.accounts = vec![BankAccount { place, account: "AT11 0001".into(), firm: firm.into() }];
        let payments = &mut inputs.statements[0].batches[0].payments;
        (payments[0].party, payments[0].party_account) = (None, Some("AT110001".into()));
        let books = reconcile(&inputs).unwrap();
        assert_eq!(
            (reasons(&books), &*books.differences[0].difference.party),
            (vec![("unpaid", -50_000)], "P-10")
        );
    }
}

/// Two partners of one identifier are told apart by their names, and who buys by it is neither.
#[test]
fn of_two_partners_he_is_neither() {
    let (mut inputs, partner) = sold();
    let plan = Plan { partners: 1, net: 90_000, percents: [10, 0], vat: [1; 3], day: 3, ..Plan::default() };
    let mut of = agreed(&plan, 6);
    let branch = Firm { id: "P-10B".into(), name: "Branch".into(), ..Firm::clone(&partner) };
    let branch = Arc::new(branch);
    (of.sales[0].buyer, of.sales[1].seller, of.shares[0].partner) =
        (branch.clone(), branch.clone(), branch.id.clone());
    inputs.invoices.push(invoice(&of, 6, 0, &of.sales[0].vat, of.sales[0].net.minor()));
    inputs.agreed.push(of);
    let books = reconcile(&inputs).unwrap();
    let of_branch: Vec<_> = parties(&books).into_iter().filter(|(party, _)| *party == "P-10B").collect();
    assert_eq!(of_branch, [("P-10B", 81_000)]);
    assert!(parties(&books).contains(&("ATU13585620", 230_000)), "{:?}", parties(&books));
}
