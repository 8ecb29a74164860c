//! Entries of a statement, and the payments in them.

use chrono::NaiveDate;
use evenfare_engine::money::Currency;
use evenfare_reconcile::input::{Batch, Payment, Status};

use crate::books::figure::{amount, begin, bounded, currency, date, line, need, place, said, shown};
use crate::log::Log;
use crate::xml_tree::{Element, trimmed};

/// What every part of an entry takes its amounts by.
#[derive(Clone, Copy)]
pub(super) struct Book {
    /// Of the account.
    pub(super) currency: Currency,
    /// May an amount be labelled with another currency?
    pub(super) any_label: bool,
}

/// A payment as its transaction says it; its entry may know better.
pub(super) struct Told {
    /// The payment; nothing stands for its amount where none was said.
    payment: Payment,
    amount: Option<i64>,
    /// Does it tell of an exchange between currencies?
    exchanged: bool,
}

impl Book {
    /// An amount of the account, in or out by its own indicator or by that of what it is part of.
    pub(super) fn signed(
        self,
        element: &Element<'_>,
        within: Option<&Element<'_>>,
        log: &mut Log,
    ) -> Option<i64> {
        let own = element.first("CdtDbtInd").or_else(|| within?.first("CdtDbtInd"));
        let is_in = match own {
            Some(indicator) => is_credit(indicator, log),
            None => is_credit(need(element, &["CdtDbtInd"], log)?, log),
        };
        let minor = self.plain(need(element, &["Amt"], log)?, log);
        turned(minor?, is_in?)
    }

    /// An amount of the account without a direction.
    fn plain(self, element: &Element<'_>, log: &mut Log) -> Option<i64> {
        let minor = amount(element, if self.any_label { "" } else { "Ccy" }, self.currency, log)?;
        if minor < 0 {
            let expected = "an amount above nothing; CdtDbtInd says which way";
            log.error(element.text_bytes.clone(), "out_of_range", &element.text, expected);
            return None;
        }
        Some(minor)
    }

    /// Charges in the currency of the account; others are not of this account.
    fn charges(self, element: &Element<'_>, log: &mut Log) -> i64 {
        let mut sum = 0_i128;
        for charges in element.all("Chrgs") {
            // The newer version has them in records, the older one repeats them.
            for charge in charges.all("Rcrd").chain([charges]) {
                // A charge that is only announced is booked by itself.
                if charge.first("ChrgInclInd").is_some_and(|included| !is_true(included)) {
                    continue;
                }
                let own =
                    charge.first("Amt").filter(|own| own.attribute("Ccy") == Some(self.currency.code()));
                let Some(minor) = own.and_then(|own| self.plain(own, log)) else { continue };
                let given_back = charge.first("CdtDbtInd").is_some_and(|way| way.text == "CRDT");
                let minor = i128::from(minor);
                sum = if given_back { sum.saturating_sub(minor) } else { sum.saturating_add(minor) };
            }
        }
        bounded(sum, begin(element), self.currency, log).unwrap_or_default()
    }

    /// The payment of one transaction, within an entry that goes that way.
    pub(super) fn transaction(
        self,
        element: &Element<'_>,
        entry: &Element<'_>,
        log: &mut Log,
    ) -> Option<Told> {
        let own_way = element.first("CdtDbtInd").or_else(|| entry.first("CdtDbtInd"));
        // A missing one is told with the entry.
        let is_in = is_credit(own_way?, log)?;
        let is_reversal = entry.first("RvslInd").is_some_and(is_true);
        let details = |name: &str| element.at(&["AmtDtls", name, "Amt"]);
        let of_account =
            |amount: &&Element<'_>| amount.attribute("Ccy").is_none_or(|code| code == self.currency.code());
        let amounts = [element.first("Amt"), details("TxAmt"), details("CntrValAmt"), details("InstdAmt")];
        let amount = amounts.into_iter().flatten().find(of_account);
        let amount = match amount {
            Some(amount) => Some(turned(self.plain(amount, log)?, is_in)?),
            None => None,
        };
        let instructed =
            [details("InstdAmt"), details("TxAmt")].into_iter().flatten().find(|a| !of_account(a));
        let instructed = match instructed {
            Some(instructed) => Some(foreign(instructed, log)?),
            None => None,
        };
        // Of what is taken back, the parties are those of what it takes back.
        let (party, account) = if is_in != is_reversal { ("Dbtr", "DbtrAcct") } else { ("Cdtr", "CdtrAcct") };
        let parties = element.first("RltdPties");
        let first =
            |paths: &[&[&str]], log: &mut Log| paths.iter().find_map(|path| said(parties?, path, log));
        let remittance = element.first("RmtInf");
        let mut structured = Vec::new();
        for part in remittance.iter().flat_map(|remittance| remittance.all("Strd")) {
            structured.extend(said(part, &["CdtrRefInf", "Ref"], log));
            for document in part.all("RfrdDocInf") {
                structured.extend(said(document, &["Nb"], log));
            }
        }
        let written: Vec<Box<str>> = remittance
            .iter()
            .flat_map(|remittance| remittance.all("Ustrd"))
            .filter_map(|part| line(part, log))
            .collect();
        let remittance = match written.is_empty() {
            true => said(element, &["AddtlTxInf"], log).unwrap_or_default(),
            false => written.join(" ").into_boxed_str(),
        };
        let payment = Payment {
            place: place(element.bytes.start, log),
            minor: amount.unwrap_or_default(),
            instructed,
            charges_minor: self.charges(element, log),
            end_to_end: said(element, &["Refs", "EndToEndId"], log).filter(|id| &**id != "NOTPROVIDED"),
            structured,
            remittance,
            party: first(&[&[party, "Nm"], &[party, "Pty", "Nm"], &[party, "Agt", "FinInstnId", "Nm"]], log),
            party_account: first(&[&[account, "Id", "IBAN"], &[account, "Id", "Othr", "Id"]], log),
        };
        let mut details = element.first("AmtDtls").into_iter().flat_map(|details| &details.elements);
        let exchanged = details.any(|detail| detail.first("CcyXchg").is_some());
        Some(Told { payment, amount, exchanged })
    }

    /// A whole entry, with the payments that were read in it.
    pub(super) fn entry(self, element: &Element<'_>, mut told: Vec<Told>, log: &mut Log) -> Option<Batch> {
        let label = element.first("Amt").and_then(|own| own.attribute("Ccy"));
        let is_other = label.is_some_and(|label| label != self.currency.code());
        let any_label = match told.as_mut_slice() {
            // Some banks label what they booked by the other side of the exchange, and the parts as well.
            // What was booked is the figure all the same, and the balances show whether it is.
            [only] if is_other && only.exchanged => {
                (only.amount, only.payment.instructed) = (None, None);
                true
            }
            _ => false,
        };
        let minor = Self { any_label, ..self }.signed(element, None, log);
        let status = status(element, log);
        let value = dated(element, "ValDt", log);
        let booked = match dated(element, "BookgDt", log).or(value) {
            None if !log.has_error_at(element.bytes.start) => {
                need(element, &["BookgDt"], log);
                None
            }
            booked => booked,
        };
        let kept_back = self.charges(element, log);
        let minor = minor?;
        let payments = self.payments(element, told, (minor, kept_back), log);
        Some(Batch {
            place: place(element.bytes.start, log),
            reference: said(element, &["AcctSvcrRef"], log).or_else(|| said(element, &["NtryRef"], log)),
            minor,
            reversal: element.first("RvslInd").is_some_and(is_true),
            status: status?,
            booked: booked?,
            value,
            payments: payments?,
        })
    }

    /// The payments of an entry, each with what came in by it and what was kept back of it. Their amounts are told after
    /// charges, or before: then they come to more than was booked, by the charges that are a part of them.
    fn payments(
        self,
        element: &Element<'_>,
        told: Vec<Told>,
        (minor, kept_back): (i64, i64),
        log: &mut Log,
    ) -> Option<Vec<Payment>> {
        let is_one = told.len() <= 1;
        let note = said(element, &["AddtlNtryInf"], log).unwrap_or_default();
        let mut payments = Vec::with_capacity(told.len().max(1));
        if told.is_empty() {
            payments.push(Payment {
                place: place(element.bytes.start, log),
                minor,
                instructed: None,
                charges_minor: kept_back,
                end_to_end: None,
                structured: Vec::new(),
                remittance: note,
                party: None,
                party_account: None,
            });
            return Some(payments);
        }
        let (mut sum, mut on_the_way) = (0_i128, 0_i128);
        for Told { mut payment, amount, .. } in told {
            match amount {
                Some(_) => {}
                None if is_one => payment.minor = minor,
                None => {
                    let expected = format!("an amount in {} of each transaction", self.currency);
                    log.error(begin(element), "missing_key", "", expected);
                    return None;
                }
            }
            if payment.remittance.is_empty() {
                payment.remittance.clone_from(&note);
            }
            sum = sum.saturating_add(i128::from(payment.minor));
            on_the_way = on_the_way.saturating_add(i128::from(payment.charges_minor));
            payments.push(payment);
        }
        // Are charges of payments, and those of the entry, a part of what is told?
        let (have_own, have_kept) = match sum.saturating_sub(i128::from(minor)) {
            0 => (false, false),
            more if more == on_the_way => (true, false),
            more if more == i128::from(kept_back) => (false, true),
            more if more == on_the_way.saturating_add(kept_back.into()) => (true, true),
            _ => {
                let found = shown(sum, self.currency);
                let expected = format!(
                    "payments that come to {}, but for the charges said",
                    shown(i128::from(minor), self.currency)
                );
                log.error(begin(element), "sums_differ", &found, expected);
                return None;
            }
        };
        for payment in payments.iter_mut().filter(|_| have_own) {
            payment.minor = payment.minor.saturating_sub(payment.charges_minor);
        }
        // Charges of the entry are those of its only payment; the same ones may stand with both.
        if let [only] = payments.as_mut_slice()
            && (have_kept || kept_back != only.charges_minor)
        {
            only.charges_minor = only.charges_minor.saturating_add(kept_back);
            only.minor = only.minor.saturating_sub(if have_kept { kept_back } else { 0 });
        }
        Some(payments)
    }
}

fn turned(minor: i64, is_in: bool) -> Option<i64> {
    if is_in { Some(minor) } else { minor.checked_neg() }
}

fn is_true(element: &Element<'_>) -> bool {
    matches!(trimmed(&element.text), "true" | "1")
}

fn is_credit(indicator: &Element<'_>, log: &mut Log) -> Option<bool> {
    match &*indicator.text {
        "CRDT" => Some(true),
        "DBIT" => Some(false),
        other => {
            // An indicator of an entry is looked at by each of its transactions.
            if !log.has_error_at(indicator.text_bytes.start) {
                log.error(indicator.text_bytes.clone(), "unknown_word", other, "CRDT or DBIT");
            }
            None
        }
    }
}

/// An amount in a currency of its own.
fn foreign(element: &Element<'_>, log: &mut Log) -> Option<(i64, Currency)> {
    let currency = currency(element.attribute("Ccy").unwrap_or_default(), begin(element), log)?;
    Some((amount(element, "Ccy", currency, log)?, currency))
}

/// The day at that name, or that of the moment there.
pub(super) fn dated(element: &Element<'_>, name: &str, log: &mut Log) -> Option<NaiveDate> {
    let choice = element.first(name)?;
    date(choice.first("Dt").or_else(|| choice.first("DtTm"))?, log)
}

fn status(element: &Element<'_>, log: &mut Log) -> Option<Status> {
    let status = need(element, &["Sts"], log)?;
    let status = status.first("Cd").unwrap_or(status);
    match &*status.text {
        "BOOK" => Some(Status::Booked),
        // A booking of a day to come is not there yet, like one that waits.
        "PDNG" | "FUTR" => Some(Status::Pending),
        "INFO" => Some(Status::Information),
        other => {
            log.error(status.text_bytes.clone(), "unknown_word", other, "BOOK, PDNG, INFO or FUTR");
            None
        }
    }
}
