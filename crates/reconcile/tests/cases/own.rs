//! Accounts of the workshop, and what moves between them.

use evenfare_reconcile::chart::Role;
use evenfare_reconcile::input::{Place, Statement};
use evenfare_reconcile::terms::{BankAccount, PaymentId};
use evenfare_reconcile::{Inputs, Reconciled};

use crate::world::bank::Account;
use crate::world::{Plan, agreed, currency, day, empty, invoice, payment};

pub const FIRST: &str = "DE02 1203 0000 0000 2020 51";
pub const SECOND: &str = "DE79 0000 0000 1234 5678 90";

/// Direct sales of these nets without VAT, each to a customer of its own, invoiced by us.
pub fn sold(nets: &[i64]) -> Inputs {
    let mut inputs = empty();
    for (number, &net) in nets.iter().enumerate() {
        let of = agreed(&Plan { net, vat: [1; 3], day: 3, ..Plan::default() }, number);
        let sale = &of.sales[0];
        inputs.invoices.push(invoice(&of, number, 0, &sale.vat, net));
        inputs.agreed.push(of);
    }
    inputs
}

pub fn account(account: &str, firm: &str) -> BankAccount {
    let place = Place { file: "bank_accounts.csv".into(), line: 2 };
    BankAccount { place, account: account.into(), firm: firm.into() }
}

pub fn balance(reconciled: &Reconciled, role: Role) -> i128 {
    reconciled.journal.balances().unwrap().iter().find(|(of, _)| *of == role).unwrap().1
}

/// Days after the first of June, what came in or went out, and does the bank say that it takes something back?
pub type Move = (u64, i64, bool);

/// What moves on an account of ours, to or from the other; a statement a month, each of which begins with its entry 1.
pub fn moves(account: &str, money: &str, other: &str, moves: &[Move]) -> Vec<Statement> {
    let workshop = &agreed(&Plan { net: 1, ..Plan::default() }, 0).sales[0].seller;
    let mut own = Account::default();
    for (on, minor, is_reversal) in moves {
        let of = |minor| {
            let mut of = payment(minor, workshop, "between us");
            of.party_account = Some(other.replace(' ', "").into());
            vec![of]
        };
        if *is_reversal { own.take_back(day(*on), of(-minor)) } else { own.book(day(*on), of(*minor)) }
    }
    let mut statements = own.statements();
    for statement in &mut statements {
        (statement.account, statement.currency) = (account.into(), currency(money));
    }
    statements
}

/// Two accounts that are listed as ours: euros on the first, and on the second what is said.
pub fn between(first: &[Move], money: &str, second: &[Move]) -> Inputs {
    let mut inputs = sold(&[5_000]);
    inputs.terms.payment_days = 200;
    inputs.invoices[0].due = None;
    inputs.terms.accounts = [FIRST, SECOND].map(|own| account(own, "workshop")).into();
    inputs.statements = moves(FIRST, "EUR", SECOND, first);
    inputs.statements.extend(moves(SECOND, money, FIRST, second));
    inputs
}

/// The payment of an entry of June.
pub fn id(account: &str, entry: u32) -> PaymentId {
    PaymentId { account: account.into(), statement: "S2026-06".into(), entry, payment: 1 }
}
