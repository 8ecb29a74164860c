//! A month written out, clean or with faults, and the differences that the faults make.

#[path = "paid.rs"]
mod paid;
#[path = "moved.rs"]
mod moved;

use std::sync::Arc;

use chrono::{Days, NaiveDate};
use evenfare_engine::category::Work;
use evenfare_engine::money::{Net, Vat};
use evenfare_engine::supply::{VatCategory, VatGroup, vat};
use evenfare_reconcile::Inputs;
use evenfare_reconcile::agreed::Agreed;
use evenfare_reconcile::difference::Reason;
use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::input::{Charge, CourierBill, Invoice, InvoiceKind, Leg, Trader, WorkDone};
use proptest::prelude::*;
use proptest::sample::Index;

use crate::kinds::{FAULTS, Fault};
use crate::world::bank::Account;
use crate::world::{
    Corrected, Plan, agreed, charge, currency, day, empty, groups, invoice, payment, place, plans,
};
use moved::Moved;

/// A difference as far as a fault foresees it: reason, quote, and by how much.
pub type Expected = (Reason, Option<String>, i64);

/// Up to two faults on any quotes, that can be told apart.
pub fn some_faults() -> impl Strategy<Value = (Vec<Plan>, Vec<(usize, Fault)>)> {
    let fault = || (any::<Index>(), prop::sample::select(FAULTS.to_vec()));
    (plans(), fault(), prop::option::of(fault())).prop_map(|(plans, (first, one), second)| {
        let mut faults = vec![(first.index(plans.len()), one)];
        if let Some((second, other)) = second {
            let place = second.index(plans.len());
            if place != faults[0].0 || one.goes_with(other) {
                faults.push((place, other));
            }
        }
        (plans, faults)
    })
}

/// The wrong invoice of a quote, and the credit notes that take it back.
fn taken_back(agreed: &Agreed, number: usize, plan: &Plan) -> Vec<Invoice> {
    let net = plan.net + 1_000_000;
    let mut wrong = invoice(agreed, number, 0, &groups(plan.vat[0], net), net);
    wrong.number = format!("{}-W", wrong.number).into();
    wrong.quote.take_if(|_| plan.corrected != Corrected::OfQuote);
    let credit = |part: &str, net_minor, gross_minor| Invoice {
        kind: InvoiceKind::CreditNote,
        number: format!("G-{}{part}", wrong.number).into(),
        quote: None,
        // People write it as they like.
        preceding: Some(wrong.number.to_lowercase().replace('-', " ").into()),
        due: None,
        net_minor,
        gross_minor,
        payable_minor: gross_minor,
        ..wrong.clone()
    };
    let Invoice { net_minor, gross_minor, .. } = wrong;
    let mut papers = match plan.corrected {
        Corrected::No => return Vec::new(),
        Corrected::InParts if !plan.in_dollars => {
            let (net, gross) = (net_minor / 3, gross_minor / 3);
            vec![credit("/1", net, gross), credit("/2", net_minor - net, gross_minor - gross)]
        }
        _ => vec![credit("", net_minor, gross_minor)],
    };
    papers.push(wrong);
    papers
}

/// Somebody else than who bought from us: the second partner of the route, or one whom nobody knows.
fn another_buyer(of: &Agreed) -> Arc<Trader> {
    let (name, vat_id) = match of.sales.as_slice() {
        [_, second, _] => (second.buyer.name.clone(), second.buyer.vat_id.clone()),
        _ => ("Quite Another".into(), None),
    };
    Trader { name, vat_id, country: None }.into()
}

/// A month being written.
#[derive(Debug)]
pub struct Month {
    pub inputs: Inputs,
    pub expected: Vec<Expected>,
    account: Account,
    moved: Moved,
    joined: Vec<(String, i64, NaiveDate)>,
    /// Payments of which a person said which quote they are for.
    decided: Vec<(i64, Box<str>)>,
}

/// Writes a month: each quote with its faults.
pub fn month(plans: &[Plan], faults: &[(usize, Fault)]) -> Month {
    let mut month = Month {
        inputs: empty(),
        expected: Vec::new(),
        account: Account::default(),
        moved: Moved::default(),
        joined: Vec::new(),
        decided: Vec::new(),
    };
    for (number, plan) in plans.iter().enumerate() {
        let own: Vec<Fault> =
            faults.iter().filter(|(of, _)| *of == number).map(|(_, fault)| *fault).collect();
        let mut plan = plan.clone();
        own.iter().for_each(|fault| fault.fitted(&mut plan));
        // One fault may have taken from another what it needs.
        own.iter().for_each(|fault| fault.fitted(&mut plan));
        month.quote(&plan, number, &own);
    }
    if let Some(last) = month.joined.iter().map(|(_, _, on)| *on).max() {
        let numbers: Vec<&str> = month.joined.iter().map(|(number, _, _)| number.as_str()).collect();
        let minor = month.joined.iter().map(|(_, minor, _)| minor).sum();
        // Somebody who has no papers of his own pays for all of them.
        let payer = Firm { id: "paymaster".into(), name: "Paymaster".into(), vat_id: None };
        month.account.book(last, vec![payment(minor, &payer, &numbers.join(", "))]);
    }
    month.inputs.statements = std::mem::take(&mut month.account).statements();
    std::mem::take(&mut month.moved).put_into(&mut month.inputs);
    for (minor, quote) in std::mem::take(&mut month.decided) {
        moved::decide(&mut month.inputs, minor, &quote);
    }
    month.expected.sort();
    month
}

impl Month {
    fn expect(&mut self, reason: Reason, of: &Agreed, amount: i64) {
        self.expected.push((reason, Some(of.number.to_string()), amount));
    }

    fn quote(&mut self, plan: &Plan, number: usize, faults: &[Fault]) {
        let mut of = agreed(plan, number);
        // What comes from abroad is in dollars, in pounds, or in yen, which have no decimals.
        if plan.in_dollars {
            of.currency = currency(["USD", "GBP", "JPY"][number % 3]);
        }
        if faults.contains(&Fault::InvoiceReversed) {
            of.reversed = Some(of.invoice_by);
        }
        let mut asked_for = None;
        for sale in 0..of.sales.len() {
            let gross = self.sale(plan, &of, number, sale, faults);
            if sale == 0 {
                asked_for = gross;
            }
        }
        self.courier(plan, &of, number, faults);
        self.beside(&of, number, faults);
        if faults.contains(&Fault::CreditToAnother) {
            self.credit_to_another(plan, &of, number, faults);
        }
        self.transfers(&of, number, faults);
        if faults.contains(&Fault::AdvanceTakenBack) {
            self.advance_taken_back(plan, number);
        }
        if faults.contains(&Fault::GivenTooMuch) {
            self.given_too_much(plan, number);
        }
        if faults.contains(&Fault::RefundedByQuote) {
            self.refunded_by_quote(plan, number);
        }
        match asked_for {
            Some(gross) => self.paid(plan, &of, number, gross, faults),
            // Paid all the same: by the quote, as there is no invoice.
            None => self.paid_in_advance(&of),
        }
        self.inputs.agreed.push(of);
    }

    /// The papers of a sale; the gross of the one that counts.
    fn sale(
        &mut self,
        plan: &Plan,
        of: &Agreed,
        number: usize,
        sale: usize,
        faults: &[Fault],
    ) -> Option<i64> {
        let agreed = &of.sales[sale];
        let (first, last) = (sale == 0, sale + 1 == of.sales.len());
        let has = |fault: Fault| faults.contains(&fault);
        let missing =
            first && has(Fault::OurInvoiceMissing) || !first && last && has(Fault::TheirInvoiceMissing);
        if missing {
            self.expect(Reason::InvoiceMissing, of, -agreed.gross.minor());
            return None;
        }
        let mut net = agreed.net.minor();
        let x = 1_000 + i64::try_from(number).unwrap();
        for (fault, here, by, reason, told) in [
            (Fault::ChargedMore, last, x, Reason::ChargedMore, x),
            (Fault::ChargedLess, last, -x, Reason::ChargedLess, -x),
            (Fault::ShareBeyond, first, -x, Reason::ShareBeyond, x),
            (Fault::ShareBelow, first, x, Reason::ShareBelow, -x),
            (Fault::AgreementDate, first, -555, Reason::AgreementDate, 555),
            (Fault::RoundedNet, last, 1, Reason::Rounding, 1),
        ] {
            if here && has(fault) {
                net += by;
                self.expect(reason, of, told);
            }
        }
        let right = groups(plan.vat[sale], net);
        let due: i64 = right.iter().map(|group| group.tax.minor()).sum();
        let mut vat = right;
        if last {
            let is_list = !first && !plan.sends_invoices;
            self.wrong_vat(of, &mut vat, due, is_list, faults);
        }
        let gross = net + vat.iter().map(|group| group.tax.minor()).sum::<i64>();
        let double =
            first && has(Fault::OurInvoiceDouble) || !first && last && has(Fault::TheirInvoiceDouble);
        if double {
            self.expect(Reason::InvoiceDouble, of, gross);
        }
        if has(Fault::InvoiceReversed) {
            self.expect(Reason::InvoiceReversed, of, gross);
        }
        let to_another = first && has(Fault::InvoiceToAnother);
        if to_another {
            self.expect(Reason::InvoiceOtherParty, of, gross);
        }
        let strange = last && has(Fault::CurrencyOfPaper);
        if strange {
            self.expect(Reason::Currency, of, gross);
        }
        let money = if strange { currency("CHF") } else { of.currency };
        if first {
            self.inputs.invoices.extend(taken_back(of, number, plan));
        }
        let copies = if double { 2_u64 } else { 1 };
        for copy in 0..copies {
            let later = of.invoice_by.checked_add_days(Days::new(copy)).unwrap();
            let name = |number: &str| if copy == 0 { number.into() } else { format!("{number}-2").into() };
            let mut row = (!first).then(|| charge(of, number, sale, &vat, net));
            if first || plan.sends_invoices {
                let mut paper = invoice(of, number, sale, &vat, net);
                (paper.issued, paper.currency, paper.number) = (later, money, name(&paper.number));
                if to_another {
                    paper.buyer = another_buyer(of);
                }
                row = row
                    .filter(|_| plan.is_listed_too)
                    .map(|row| Charge { invoice: paper.number.clone(), ..row });
                self.inputs.invoices.push(paper);
            } else if let Some(row) = &mut row {
                row.invoice = name(&row.invoice);
            }
            self.inputs.charges.extend(row.map(|row| Charge { issued: later, currency: money, ..row }));
        }
        Some(gross)
    }

    /// VAT of another category, rate or amount on the sale to the end customer.
    fn wrong_vat(
        &mut self,
        of: &Agreed,
        vat_groups: &mut Vec<VatGroup>,
        due: i64,
        is_list: bool,
        faults: &[Fault],
    ) {
        let base = Net::sum(vat_groups.iter().map(|group| group.base)).unwrap();
        let is_net_right = base == of.sales[of.sales.len() - 1].net;
        let one = |category, rate: &str| {
            let rate = rate.parse().unwrap();
            vec![VatGroup { category, rate: Some(rate), base, tax: vat(base, rate).unwrap() }]
        };
        for fault in faults {
            let reason = match fault {
                // All of it of the first of two.
                Fault::VatCategory if vat_groups.len() > 1 && !is_list && is_net_right => {
                    *vat_groups = one(VatCategory::AE, "0");
                    Reason::VatCategory
                }
                Fault::VatCategory if due != 0 => {
                    *vat_groups = one(VatCategory::AE, "0");
                    Reason::VatCategory
                }
                Fault::VatCategory => {
                    *vat_groups = one(VatCategory::S, "19");
                    Reason::VatCategory
                }
                Fault::VatRate => {
                    *vat_groups = one(VatCategory::S, "16");
                    Reason::VatRate
                }
                Fault::VatAmount => {
                    let wrong = vat_groups[0].tax.minor() + 17;
                    vat_groups[0].tax = Vat::from_minor(wrong).unwrap();
                    // A list only says how much VAT there is.
                    match (is_list, due) {
                        (false, _) => Reason::VatAmount,
                        (true, 0) => Reason::VatCategory,
                        (true, _) => Reason::VatRate,
                    }
                }
                _ => continue,
            };
            let told = vat_groups.iter().map(|group| group.tax.minor()).sum::<i64>() - due;
            self.expect(reason, of, told);
        }
    }

    fn courier(&mut self, plan: &Plan, of: &Agreed, number: usize, faults: &[Fault]) {
        let mut bill = |leg: Leg, quote: String, net_minor: i64| {
            let line = self.inputs.courier_bills.len() + 1;
            self.inputs.courier_bills.push(CourierBill {
                place: place("courier.csv", line),
                courier: "Swift Cart".into(),
                bill: format!("C{}", line / 10).into(),
                consignment: format!("{number}-{line}").into(),
                quote: quote.into(),
                leg,
                carried: of.invoice_by,
                currency: of.currency,
                net_minor,
            });
        };
        let number_of_quote = of.number.to_string();
        let wrong = faults.contains(&Fault::Courier);
        if plan.is_billed || wrong {
            bill(Leg::Out, number_of_quote.clone(), 3_900 + if wrong { 640 } else { 0 });
        }
        if plan.is_billed && !of.leg_in.carried_by_partner {
            // In two parcels.
            bill(Leg::In, number_of_quote.clone(), 1_900);
            bill(Leg::In, number_of_quote.clone(), 2_000);
        }
        if faults.contains(&Fault::CreditForLeg) {
            bill(Leg::In, number_of_quote, 3_900);
        }
        if faults.contains(&Fault::CourierUnknown) {
            bill(Leg::In, "Q-1999-0001".into(), 1_111);
        }
        for (fault, reason, amount) in
            [(Fault::Courier, Reason::Courier, 640), (Fault::CreditForLeg, Reason::CreditForOurWork, 890)]
        {
            if faults.contains(&fault) {
                self.expect(reason, of, amount);
            }
        }
        if faults.contains(&Fault::CourierUnknown) {
            self.expected.push((Reason::CourierUnknown, None, 1_111));
        }
    }

    /// A credit note to somebody else, of all that our invoice asks for or of a part: to the end customer of a partner,
    /// or to one whom nobody knows. It names the invoice or the quote.
    fn credit_to_another(&mut self, plan: &Plan, of: &Agreed, number: usize, faults: &[Fault]) {
        let whole = of.sales[0].net.minor();
        let net = if plan.net % 2 == 0 { whole } else { whole / 7 };
        let mut paper = invoice(of, number, 0, &groups(plan.vat[0], net), net);
        let own = paper.number.to_lowercase().replace('-', " ");
        (paper.kind, paper.due) = (InvoiceKind::CreditNote, None);
        paper.number = format!("G-{}-X", paper.number).into();
        let names_quote = plan.day.is_multiple_of(2);
        if !names_quote {
            (paper.quote, paper.preceding) = (None, Some(own.into()));
        }
        paper.buyer = match of.sales.as_slice() {
            [_] => Trader { name: "Yet Another".into(), vat_id: None, country: None }.into(),
            [.., last] => {
                let Firm { name, vat_id, .. } = &*last.buyer;
                Trader { name: name.clone(), vat_id: vat_id.clone(), country: None }.into()
            }
            [] => return,
        };
        let is_known = names_quote || !faults.contains(&Fault::OurInvoiceMissing);
        let reason = if is_known { Reason::CreditOtherParty } else { Reason::InvoiceUnknown };
        self.expected.push((reason, None, -paper.gross_minor));
        self.inputs.invoices.push(paper);
    }

    /// Faults that stand beside the quote.
    fn beside(&mut self, of: &Agreed, number: usize, faults: &[Fault]) {
        if faults.contains(&Fault::CreditForRemoval) {
            let quote = of.number.clone();
            let (place, work, done) = (place("work.csv", number + 1), Work::Removal, of.invoice_by);
            self.inputs.work_done.push(WorkDone { place, quote, work, done });
            self.expect(Reason::CreditForOurWork, of, 1_250);
        }
        if faults.contains(&Fault::InvoiceUnknown) {
            let mut paper = invoice(of, number + 5_000, 0, &groups(1, 7_777), 7_777);
            paper.quote = None;
            paper.due = self.inputs.terms.until.succ_opt();
            paper.buyer = Trader { name: "Somebody Else".into(), vat_id: None, country: None }.into();
            self.inputs.invoices.push(paper);
            self.expected.push((Reason::InvoiceUnknown, None, 7_777));
        }
        if faults.contains(&Fault::PaymentUnknown) {
            let mut stranger = payment(1_000_003, &of.sales[0].buyer, "for the flowers");
            stranger.party = Some("A Stranger".into());
            self.account.book(day(40), vec![stranger]);
            self.expected.push((Reason::PaymentUnknown, None, 1_000_003));
        }
    }
}
