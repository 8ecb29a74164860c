//! How our invoices are paid, and the faults of that.

use std::sync::Arc;

use chrono::{Days, NaiveDate};
use evenfare_reconcile::agreed::Agreed;
use evenfare_reconcile::difference::Reason;
use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::input::{Invoice, InvoiceKind, Payment};
use evenfare_reconcile::reference::creditor_reference;

use super::Month;
use crate::kinds::Fault;
use crate::world::{Plan, Style, agreed, currency, invoice, invoice_number, payment};

impl Month {
    /// A payment by the quote, where there is no invoice.
    pub(super) fn paid_in_advance(&mut self, of: &Agreed) {
        let words = of.number.replace('-', " ");
        let payment = payment(of.sales[0].gross.minor(), &of.sales[0].buyer, &words);
        self.account.book(days_after(of, 9), vec![payment]);
    }

    /// Another quote, to a customer of its own, that was paid in advance and taken back before there was an invoice. The
    /// money is owed to him, or it went back: all of it, with that of another quote, or a part that a person said.
    pub(super) fn advance_taken_back(&mut self, plan: &Plan, number: usize) {
        let net = 90_000_000 + i64::try_from(number).unwrap() * 1_000;
        let of_net = |net| Plan { net, vat: [1; 3], day: plan.day, ..Plan::default() };
        let mut of = agreed(&of_net(net), number + 3_000);
        of.reversed = Some(days_after(&of, 10));
        let buyer = renamed(&mut of, format!("Confectioner {number}"));
        self.paid_in_advance(&of);
        let mut back = |minor: i64| {
            self.account.book(days_after(&of, 14), vec![payment(-minor, &buyer, "returned")]);
        };
        match plan.net % 4 {
            0 => self.expect(Reason::Overpaid, &of, net),
            1 => back(net),
            2 => {
                let mut second = agreed(&of_net(net + 333), number + 4_000);
                (second.reversed, second.sales[0].buyer) = (of.reversed, buyer.clone());
                back(net + net + 333);
                self.paid_in_advance(&second);
                self.inputs.agreed.push(second);
            }
            _ => {
                back(net / 3);
                self.decided.push((-(net / 3), of.number.clone()));
                self.expect(Reason::Overpaid, &of, net - net / 3);
            }
        }
        self.inputs.agreed.push(of);
    }

    /// Another such quote; more went back by its number than had come in.
    pub(super) fn given_too_much(&mut self, plan: &Plan, number: usize) {
        let net = 70_000_000 + i64::try_from(number).unwrap() * 1_000;
        let of_net = Plan { net, vat: [1; 3], day: plan.day, ..Plan::default() };
        let mut of = agreed(&of_net, number + 6_000);
        of.reversed = Some(days_after(&of, 10));
        let buyer = renamed(&mut of, format!("Miller {number}"));
        self.paid_in_advance(&of);
        self.account.book(days_after(&of, 14), vec![payment(-net - 333, &buyer, &of.number)]);
        self.expect(Reason::PaidUnknown, &of, -333);
        self.inputs.agreed.push(of);
    }

    /// Another quote, to a customer of its own, that was invoiced and taken back. The money went back by its number, by what
    /// ever it had come.
    pub(super) fn refunded_by_quote(&mut self, plan: &Plan, number: usize) {
        let net = 80_000_000 + i64::try_from(number).unwrap() * 1_000;
        let of_net = Plan { net, vat: [1; 3], day: plan.day, ..Plan::default() };
        let mut of = agreed(&of_net, number + 7_000);
        let buyer = renamed(&mut of, format!("Pastrycook {number}"));
        let paper = invoice(&of, number + 7_000, 0, &of.sales[0].vat, net);
        let words = [&*paper.number, &*of.number, "thank you"][number % 3];
        self.account.book(days_after(&of, 9), vec![payment(net, &buyer, words)]);
        self.account.book(days_after(&of, 14), vec![payment(-net, &buyer, &of.number)]);
        self.inputs.invoices.push(Invoice {
            kind: InvoiceKind::CreditNote,
            number: format!("G-{}", paper.number).into(),
            preceding: Some(paper.number.clone()),
            issued: days_after(&of, 11),
            due: None,
            ..paper.clone()
        });
        self.expect(Reason::InvoiceMissing, &of, -net);
        self.inputs.invoices.push(paper);
        self.inputs.agreed.push(of);
    }

    /// The payment of our invoice.
    pub(super) fn paid(&mut self, plan: &Plan, of: &Agreed, number: usize, gross: i64, faults: &[Fault]) {
        let has = |fault: Fault| faults.contains(&fault);
        let x = 2_000 + i64::try_from(number).unwrap();
        let own = invoice_number(number);
        let twin = matches!(plan.style, Style::TwinsByAmount | Style::TwinsByInvoice)
            .then(|| self.twin(plan, of, number));
        // Of two that are named together, the first due is cleared first.
        let last = twin.as_ref().unwrap_or(of).clone();
        let mut minor = gross;
        for (fault, by, reason) in [
            (Fault::UnpaidWhole, -gross, Reason::Unpaid),
            (Fault::UnpaidPart, -x, Reason::Unpaid),
            (Fault::Overpaid, x, Reason::Overpaid),
            (Fault::RoundedPayment, -2, Reason::Rounding),
        ] {
            if !has(fault) {
                continue;
            }
            minor += by;
            match fault {
                // What names nothing and is more than is open is for nothing known.
                Fault::Overpaid if plan.style == Style::ByAmount => {
                    self.expected.push((Reason::PaymentUnknown, None, minor));
                    self.expect(Reason::Unpaid, of, -gross);
                }
                Fault::UnpaidWhole => self.expect(reason, of, by),
                _ => self.expect(reason, &last, by),
            }
        }
        if has(Fault::UnpaidWhole) {
            if let Some(twin) = twin {
                self.account.book(
                    days_after(of, 9),
                    vec![payment(
                        twin.sales[0].gross.minor(),
                        &of.sales[0].buyer,
                        &invoice_number(number + 1_000),
                    )],
                );
            }
            return;
        }
        let mut entries = self.payments(plan, of, (own.as_str(), number), minor, faults);
        if let Some(twin) = &twin {
            entries[0].1[0].minor += twin.sales[0].gross.minor();
        }
        for (on, payments) in &entries {
            self.account.book(*on, payments.clone());
        }
        if has(Fault::PaidBack) {
            self.expect(Reason::Unpaid, of, -gross);
            if let Some(twin) = &twin {
                self.expect(Reason::Unpaid, twin, -twin.sales[0].gross.minor());
            }
            // With the words it was paid with, or with others.
            for (on, mut payments) in entries {
                let other = |payment: &mut Payment| {
                    (payment.remittance, payment.structured) = ("returned".into(), Vec::new());
                };
                payments.iter_mut().filter(|_| number.is_multiple_of(2)).for_each(other);
                let mut take_back = |days, payments: &[Payment]| {
                    self.account.take_back(on.checked_add_days(Days::new(days)).unwrap(), payments.to_vec());
                };
                take_back(6, &payments);
                // Once more than it was paid, which takes nothing back that is known.
                if plan.net % 3 == 0 {
                    payments.iter_mut().for_each(other);
                    take_back(8, &payments);
                    let told = payments.iter().map(|payment| -payment.minor);
                    self.expected.extend(told.map(|minor| (Reason::PaidUnknown, None, minor)));
                }
            }
        }
    }

    /// The entries that pay so much, in the order of days.
    fn payments(
        &mut self,
        plan: &Plan,
        of: &Agreed,
        (own, number): (&str, usize),
        minor: i64,
        faults: &[Fault],
    ) -> Vec<(NaiveDate, Vec<Payment>)> {
        let (on, later) = (days_after(of, 9), days_after(of, 12));
        let payer = of.sales[0].buyer.clone();
        let one = |words: &str| vec![(on, vec![payment(minor, &payer, words)])];
        if of.currency != currency("EUR") {
            let rated = self.inputs.rates.converted(minor, of.currency, currency("EUR"), on).unwrap();
            let is_off = faults.contains(&Fault::CurrencyRate);
            let came = if is_off { rated - rated / 20 } else { rated - rated / 200 };
            if is_off {
                self.expect(Reason::Currency, of, came - rated);
            }
            let mut payment = payment(came, &payer, own);
            payment.instructed = Some((minor, of.currency));
            return vec![(on, vec![payment])];
        }
        match plan.style {
            Style::ByInvoice => one(&format!("invoice {} of June", own.to_lowercase())),
            Style::ByQuote => one(&of.number.replace('-', " ")),
            Style::ByAmount => one("thank you"),
            Style::ByReference => {
                let mut entries = one("");
                entries[0].1[0].structured = vec![creditor_reference(own).unwrap().into()];
                entries
            }
            Style::InParts | Style::InPartsByAmount => {
                let words = if plan.style == Style::InParts { own } else { "repair" };
                let part = |minor| vec![payment(minor, &payer, words)];
                vec![(on, part(minor / 3)), (later, part(minor - minor / 3))]
            }
            Style::LessCharges => {
                let mut entries = one(own);
                (entries[0].1[0].minor, entries[0].1[0].charges_minor) = (minor - 450, 450);
                entries
            }
            Style::InABatch => {
                let first = payment(minor / 2, &payer, own);
                let second = payment(minor - minor / 2, &payer, &of.number);
                vec![(on, vec![first, second])]
            }
            Style::WithOthers => {
                self.joined.push((own.to_owned(), minor, on));
                Vec::new()
            }
            Style::TwinsByAmount => one("both repairs"),
            Style::TwinsByInvoice => one(&format!("{} and {own}", invoice_number(number + 1_000))),
        }
    }

    /// A second quote of the same customer, paid together with the first.
    fn twin(&mut self, plan: &Plan, of: &Agreed, number: usize) -> Agreed {
        let twin = Plan { net: plan.net + 31_007, is_billed: false, ..plan.clone() };
        let mut second = agreed(&twin, number + 1_000);
        second.sales[0].buyer = of.sales[0].buyer.clone();
        let sale = &second.sales[0];
        self.inputs.invoices.push(invoice(&second, number + 1_000, 0, &sale.vat, sale.net.minor()));
        self.inputs.agreed.push(second.clone());
        second
    }
}

/// Whoever buys, with a name of which none is a part of another.
fn renamed(of: &mut Agreed, name: String) -> Arc<Firm> {
    let Firm { id, vat_id, .. } = &*of.sales[0].buyer;
    let buyer = Arc::new(Firm { id: id.clone(), name: name.into(), vat_id: vat_id.clone() });
    of.sales[0].buyer = buyer.clone();
    buyer
}

fn days_after(of: &Agreed, days: u64) -> NaiveDate {
    of.invoice_by.checked_add_days(Days::new(days)).unwrap()
}
