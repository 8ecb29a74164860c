//! What was loaded, each thing once and in an order of its own.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::Currency;

use crate::Inputs;
use crate::agreed::Agreed;
use crate::chained::chained;
use crate::error::Unreconciled;
use crate::firm::WORKSHOP;
use crate::input::{Charge, CourierBill, Invoice, Leg, Payment, Place, Slip, Statement, Status, WorkDone};
use crate::known_firms::{KnownFirms, name_key};
use crate::reference::normal;
use crate::terms::{BankAccount, PaymentId, payment_name};
use crate::threads::{ByAddress, Threads};

/// Everything up to the last day that is looked at, without what was loaded twice; firms of all days. The order is that
/// of names and numbers, never that of files and rows.
pub(crate) struct Loaded<'a> {
    /// The last day that is looked at.
    pub(crate) until: NaiveDate,
    pub(crate) deals: Vec<&'a Agreed>,
    pub(crate) firms: KnownFirms<'a>,
    pub(crate) invoices: Vec<&'a Invoice>,
    pub(crate) charges: Vec<&'a Charge>,
    /// Papers that are told in two ways; what does not count is not among the others.
    pub(crate) retold: Vec<Retold<'a>>,
    /// The quotes that lists name of invoices that are told by both, by who sells and number.
    listed: HashMap<(&'a str, &'a str), Vec<&'a str>>,
    pub(crate) payments: Vec<Received<'a>>,
    /// The accounts that there are statements of.
    stated: HashSet<String>,
    /// What banks kept back of a whole entry: account, day, amount, and the entry's name.
    pub(crate) kept_back: Vec<KeptBack<'a>>,
    pub(crate) courier_bills: Vec<&'a CourierBill>,
    /// Those of all days.
    bills: &'a [CourierBill],
    /// Consignments that a bill has there and back under one number.
    there_and_back: HashSet<Consignment<'a>>,
    pub(crate) work_done: Vec<&'a WorkDone>,
}

/// Invoices, and rows of lists of what was charged.
#[derive(Default)]
pub(crate) struct Tellings<'a> {
    pub(crate) invoices: Vec<&'a Invoice>,
    pub(crate) rows: Vec<&'a Charge>,
}

/// A paper that is told in two ways.
pub(crate) struct Retold<'a> {
    /// What counts.
    pub(crate) counts: Tellings<'a>,
    /// What says the same.
    pub(crate) again: Tellings<'a>,
}

/// A payment that is booked.
#[derive(Clone, Copy)]
pub(crate) struct Received<'a> {
    pub(crate) statement: &'a Statement,
    pub(crate) entry: u32,
    pub(crate) number: u32,
    pub(crate) booked: NaiveDate,
    pub(crate) reversal: bool,
    /// What came in, and what was kept back on the way; kept here, for a payment itself lies far from the next.
    pub(crate) minor: i64,
    pub(crate) charges_minor: i64,
    pub(crate) payment: &'a Payment,
}

/// The difference between an entry and the payments that it is the sum of.
pub(crate) struct KeptBack<'a> {
    pub(crate) statement: &'a Statement,
    pub(crate) entry: u32,
    pub(crate) booked: NaiveDate,
    pub(crate) minor: i64,
}

impl Received<'_> {
    pub(crate) fn id(&self) -> PaymentId {
        PaymentId {
            account: self.statement.account.as_ref().into(),
            statement: self.statement.id.as_ref().into(),
            entry: self.entry,
            payment: self.number,
        }
    }

    /// Its name as it is written.
    pub(crate) fn name(&self) -> Box<str> {
        let Self { statement, entry, number, .. } = *self;
        payment_name(&statement.account, &statement.id, entry, number).into()
    }

    pub(crate) fn currency(&self) -> Currency {
        self.statement.currency
    }

    /// What it clears, in the account's currency: what came in and what was kept back on the way.
    pub(crate) const fn cleared(&self) -> i64 {
        self.minor.saturating_add(self.charges_minor)
    }
}

/// Courier, bill and number.
type Consignment<'a> = (&'a str, &'a str, &'a str);

fn consignment(bill: &CourierBill) -> Consignment<'_> {
    (&bill.courier, &bill.bill, &bill.consignment)
}

impl<'a> Loaded<'a> {
    pub(crate) fn new(inputs: &'a Inputs, threads: Threads) -> Result<Self, Unreconciled> {
        let terms = &inputs.terms;
        let (agreed, papers) = threads.both(
            || {
                let deals = deals(&inputs.agreed, terms.until)?;
                let firms = KnownFirms::new(&inputs.agreed, &terms.accounts);
                Ok::<_, Unreconciled>((deals, firms))
            },
            || Self::papers(inputs),
        );
        let (deals, firms) = agreed?;
        Ok(Self { deals, firms, ..papers? })
    }

    /// The deals that are others than they were handed in, with their places: to a partner who is the end customer himself.
    pub(crate) fn other_deals(&self) -> Vec<(usize, Agreed)> {
        let other = |(place, deal): (usize, &&Agreed)| {
            let partner = self.firms.partner(&deal.sales.last()?.buyer)?;
            let mut deal = Agreed::clone(deal);
            deal.sales.last_mut()?.buyer = Arc::clone(partner);
            Some((place, deal))
        };
        self.deals.iter().enumerate().filter_map(other).collect()
    }

    /// Puts deals into the places of others.
    pub(crate) fn put_deals(&mut self, deals: &'a [(usize, Agreed)]) {
        for (place, deal) in deals {
            if let Some(own) = self.deals.get_mut(*place) {
                *own = deal;
            }
        }
    }

    /// Leaves out what tells of papers again.
    pub(crate) fn count_once(&mut self, retold: Vec<Retold<'a>>) {
        let again = || retold.iter().map(|paper| &paper.again);
        let invoices: HashSet<*const Invoice, ByAddress> =
            again().flat_map(|again| &again.invoices).map(|one| std::ptr::from_ref(*one)).collect();
        let rows: HashSet<*const Charge, ByAddress> =
            again().flat_map(|again| &again.rows).map(|one| std::ptr::from_ref(*one)).collect();
        self.invoices.retain(|one| !invoices.contains(&std::ptr::from_ref(*one)));
        self.charges.retain(|one| !rows.contains(&std::ptr::from_ref(*one)));
        for Retold { counts, again } in &retold {
            for invoice in &counts.invoices {
                let quotes = again.rows.iter().map(|row| &*row.quote).collect();
                self.listed.insert((&**invoice.seller.key(), &*invoice.number), quotes);
            }
        }
        self.retold = retold;
    }

    /// Is the other side an account of the workshop, by the list or by its statements, and another one than that of the
    /// statement?
    pub(crate) fn is_transfer(&self, statement: &Statement, payment: &Payment) -> bool {
        // With one account there is no other: nearly all books are spared a look at the other side of each payment.
        if self.firms.own_accounts().is_empty() && self.stated.len() < 2 {
            return false;
        }
        let is_ours =
            |other: &String| self.firms.own_accounts().contains(other) || self.stated.contains(other);
        let other = payment.party_account.as_deref().map(normal).filter(is_ours);
        other.is_some_and(|other| other != normal(&statement.account))
    }

    /// Is the other side of a transfer ours by more than the list of accounts: by its statements or its name?
    pub(crate) fn is_surely_ours(&self, payment: &Payment) -> bool {
        let account = payment.party_account.as_deref().map(normal);
        account.is_some_and(|account| self.stated.contains(&account)) || self.firms.is_workshop(payment)
    }

    /// What a row of a courier's bill is known by among those of its courier. Of two legs under one number the way back
    /// says so.
    pub(crate) fn name_of(&self, bill: &CourierBill) -> Box<str> {
        let CourierBill { bill: number, consignment: own, leg, .. } = bill;
        match leg {
            Leg::Out if self.there_and_back.contains(&consignment(bill)) => {
                format!("{number}/{own}/out").into()
            }
            _ => format!("{number}/{own}").into(),
        }
    }

    /// The names that couriers bill under, on whatever day.
    pub(crate) fn couriers(&self) -> HashSet<String> {
        let names: HashSet<&str> = self.bills.iter().map(|bill| &*bill.courier).collect();
        names.into_iter().map(name_key).collect()
    }

    /// The quotes that a list names of an invoice.
    pub(crate) fn listed_quotes(&self, invoice: &'a Invoice) -> &[&'a str] {
        self.listed.get(&(&**invoice.seller.key(), &*invoice.number)).map(Vec::as_slice).unwrap_or_default()
    }

    /// All but what was agreed.
    fn papers(inputs: &'a Inputs) -> Result<Self, Unreconciled> {
        let until = inputs.terms.until;
        let mut twice = Vec::new();
        let invoices = once(
            &mut twice,
            those(&inputs.invoices, |invoice| invoice.issued <= until),
            |invoice| (&**invoice.seller.key(), &*invoice.number),
            Invoice::is_copy_of,
            |invoice| ("invoice", &invoice.number, &invoice.place),
        );
        let charges = once(
            &mut twice,
            those(&inputs.charges, |charge| charge.issued <= until),
            |charge| (charge.partner.as_str(), &*charge.invoice, &*charge.quote),
            |a, b| Charge { place: b.place.clone(), ..a.clone() } == *b,
            |charge| ("charge", &charge.invoice, &charge.place),
        );
        let courier_bills = once(
            &mut twice,
            those(&inputs.courier_bills, |bill| bill.carried <= until),
            |bill| (consignment(bill), bill.leg),
            |a, b| CourierBill { place: b.place.clone(), ..a.clone() } == *b,
            |bill| ("courier bill", &bill.bill, &bill.place),
        );
        let both = courier_bills.iter().zip(courier_bills.iter().skip(1));
        let both = both.filter(|(there, back)| consignment(there) == consignment(back));
        let there_and_back = both.map(|(&there, _)| consignment(there)).collect();
        let work_done = once(
            &mut twice,
            those(&inputs.work_done, |work| work.done <= until),
            |work| (&*work.quote, work.work),
            |a, b| a.done == b.done,
            |work| ("work done", &work.quote, &work.place),
        );
        let statements = once(
            &mut twice,
            inputs.statements.iter().collect(),
            |statement| (&*statement.account, &*statement.id),
            same_statement,
            |statement| ("statement", &statement.id, &statement.place),
        );
        own_accounts(&inputs.terms.accounts, &statements, &mut twice);
        if !twice.is_empty() {
            twice.sort();
            return Err(Unreconciled::SaidTwice(twice));
        }
        chained(&statements)?;
        let (payments, kept_back) = payments(&statements, until)?;
        let stated = statements.iter().map(|statement| normal(&statement.account)).collect();
        let (deals, firms) = (Vec::new(), KnownFirms::default());
        let (retold, listed) = (Vec::new(), HashMap::new());
        Ok(Self {
            until,
            deals,
            firms,
            invoices,
            charges,
            retold,
            listed,
            payments,
            stated,
            kept_back,
            courier_bills,
            bills: &inputs.courier_bills,
            there_and_back,
            work_done,
        })
    }
}

/// The rows that count, nearly always all of them.
fn those<T>(all: &[T], counts: impl Fn(&T) -> bool) -> Vec<&T> {
    let mut rows = Vec::with_capacity(all.len());
    rows.extend(all.iter().filter(|row| counts(row)));
    rows
}

/// The rows in the order of their names, each once. Of equal rows that whose place comes first stays; those that
/// say something else under its name are noted.
fn once<'a, T, K: Ord>(
    twice: &mut Vec<Slip>,
    mut rows: Vec<&'a T>,
    key: impl Fn(&'a T) -> K,
    same: impl Fn(&T, &T) -> bool,
    named: impl Fn(&'a T) -> (&'static str, &'a str, &'a Place),
) -> Vec<&'a T> {
    rows.sort_unstable_by(|a, b| key(a).cmp(&key(b)).then_with(|| named(a).2.cmp(named(b).2)));
    rows.dedup_by(|second, first| {
        let again = key(first) == key(second);
        if again && !same(first, second) {
            let (what, name, place) = named(first);
            let other = named(second).2;
            twice.push(Slip {
                place: place.clone(),
                code: "said_twice",
                found: format!("{what} {name}"),
                expected: format!("the same as at {}:{}, which has the same name", other.file, other.line),
            });
        }
        again
    });
    rows
}

/// What there are statements of is an account of ours, whatever the list of accounts says.
fn own_accounts(accounts: &[BankAccount], statements: &[&Statement], twice: &mut Vec<Slip>) {
    let others = accounts.iter().filter(|account| *account.firm != *WORKSHOP);
    let others: Vec<(String, &BankAccount)> = others.map(|one| (normal(&one.account), one)).collect();
    if others.is_empty() {
        return;
    }
    // Of each account the statement whose place comes first.
    let mut stated: HashMap<String, &Place> = HashMap::new();
    for Statement { account, place, .. } in statements {
        let first = stated.entry(normal(account)).or_insert(place);
        *first = place.min(*first);
    }
    for (account, BankAccount { place, firm, .. }) in others {
        let Some(Place { file, line }) = stated.get(&account) else { continue };
        twice.push(Slip {
            place: place.clone(),
            code: "said_twice",
            found: format!("{account} of {firm}"),
            expected: format!("`{WORKSHOP}`, as the statement at {file}:{line} is of that account"),
        });
    }
}

/// Statements are the same where all but their places is.
fn same_statement(a: &Statement, b: &Statement) -> bool {
    let Statement { place: _, id, account, currency, opening, closing, batches: _ } = b;
    let head = (&a.id, &a.account, &a.currency, &a.opening, &a.closing);
    head == (id, account, currency, opening, closing) && a.has_entries_of(b)
}

/// Of each number the revision that counts.
fn deals(agreed: &[Agreed], until: NaiveDate) -> Result<Vec<&Agreed>, Unreconciled> {
    let mut deals = those(agreed, |agreed| agreed.accepted <= until);
    // What was taken back later says more than what was not.
    deals.sort_by_key(|one| (&*one.number, std::cmp::Reverse((one.revision, one.reversed))));
    let mut twice = None;
    deals.dedup_by(|second, first| {
        let again = first.number == second.number;
        if again && first.revision == second.revision {
            let same = Agreed { reversed: first.reversed, ..Agreed::clone(second) } == **first;
            twice = twice.or((!same).then_some(*first));
        }
        again
    });
    match twice {
        Some(one) => {
            Err(Unreconciled::AgreedTwice { number: one.number.clone().into(), revision: one.revision })
        }
        None => Ok(deals),
    }
}

/// The payments of all statements, by the day they were booked, and what was kept back of entries.
fn payments<'a>(
    statements: &[&'a Statement],
    until: NaiveDate,
) -> Result<(Vec<Received<'a>>, Vec<KeptBack<'a>>), Unreconciled> {
    let all = statements.iter().flat_map(|statement| &statement.batches).map(|batch| batch.payments.len());
    let mut payments = Vec::with_capacity(all.sum());
    let mut kept_back = Vec::new();
    for statement in statements {
        for (entry, batch) in (1..).zip(&statement.batches) {
            if batch.status != Status::Booked || batch.booked > until {
                continue;
            }
            let mut left = batch.minor;
            for (number, payment) in (1..).zip(&batch.payments) {
                left = left.checked_sub(payment.minor).ok_or(evenfare_engine::money::Overflow)?;
                let (booked, reversal) = (batch.booked, batch.reversal);
                let Payment { minor, charges_minor, .. } = *payment;
                payments.push(Received {
                    statement,
                    entry,
                    number,
                    booked,
                    reversal,
                    minor,
                    charges_minor,
                    payment,
                });
            }
            if left != 0 {
                kept_back.push(KeptBack { statement, entry, booked: batch.booked, minor: left });
            }
        }
    }
    // Statements stand in order already: a stable sort keeps them so within a day.
    payments.sort_by_key(|payment| payment.booked);
    kept_back.sort_by_key(|kept| kept.booked);
    Ok((payments, kept_back))
}
