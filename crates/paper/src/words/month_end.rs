//! What moved an account, what differs, and by which papers.

use evenfare_engine::category::Work;
use evenfare_reconcile::account::StatementLine;
use evenfare_reconcile::change::{Change, Of, What};
use evenfare_reconcile::changed::How;
use evenfare_reconcile::chart::Role;
use evenfare_reconcile::difference::{Difference, Document, Paper, Reason};
use evenfare_reconcile::journal::{Event, Transaction};
use evenfare_reconcile::left_open::{OpenItem, OpenKind};
use evenfare_reconcile::month::Month;
use evenfare_reconcile::told::{number_told, payment_told};

use super::Words;
use crate::figures::NO_BREAK;

impl Words {
    /// What happened, as the party whose account it moved calls it; above nothing he owes more.
    pub fn movement(&self, line: &StatementLine<'_>) -> String {
        let (one, owes_more) = (line.transaction, line.minor > 0);
        self.say(match one.source.event {
            _ if owes_more && line.is_bonus_paid => "movement-bonus-paid",
            Event::Invoice if owes_more => "invoice",
            // It takes back a paper of a closed month, or is a credit note that came late.
            Event::Invoice if is_late(one) => "movement-invoice-corrected",
            Event::Invoice => "credit-note",
            // It takes back what a closed month has of a payment, or is one that came late.
            Event::Payment if owes_more && is_late(one) => "movement-payment-corrected",
            Event::Payment if owes_more => "movement-payment-returned",
            Event::Payment => "payment",
            Event::BankCharges => "movement-bank-charges",
            Event::CourierBill => "movement-courier-bill",
            Event::Bonus if owes_more => "movement-bonus-less",
            Event::Bonus => "movement-bonus",
            Event::Rounding => "movement-rounding",
        })
    }

    /// What is open on an account, by what it is and its number: `Invoice R-2026-00017`.
    pub fn open_item(&self, one: &OpenItem) -> String {
        let id = match one.what {
            OpenKind::Invoice => "invoice",
            OpenKind::CreditNote => "credit-note",
            OpenKind::Advance => "open-advance",
            OpenKind::Payment => "payment",
            OpenKind::Bonus => "movement-bonus",
            OpenKind::Rounding => "movement-rounding",
        };
        [&self.say(id), NO_BREAK, number_of(one.what.event(), &one.document)].concat()
    }

    /// Why something is a difference, in a sentence or two.
    ///
    /// # Examples
    /// ```
    /// use evenfare_engine::language::Language;
    /// use evenfare_paper::words::Words;
    /// use evenfare_reconcile::difference::Reason;
    /// let said = Words::of(Language::German).reason(Reason::Overpaid);
    /// assert_eq!(said, "Es wurde mehr gezahlt, als die Rechnung verlangt.");
    /// ```
    pub fn reason(&self, reason: Reason) -> String {
        self.say(match reason {
            Reason::ChargedMore => "reason-charged-more",
            Reason::ChargedLess => "reason-charged-less",
            Reason::ShareBeyond => "reason-share-beyond",
            Reason::ShareBelow => "reason-share-below",
            Reason::AgreementDate => "reason-agreement-date",
            Reason::VatCategory => "reason-vat-category",
            Reason::VatRate => "reason-vat-rate",
            Reason::VatAmount => "reason-vat-amount",
            Reason::InvoiceMissing => "reason-invoice-missing",
            Reason::InvoiceDouble => "reason-invoice-double",
            Reason::InvoiceReversed => "reason-invoice-reversed",
            Reason::InvoiceUnknown => "reason-invoice-unknown",
            Reason::InvoiceOtherParty => "reason-invoice-other-party",
            Reason::CreditOtherParty => "reason-credit-other-party",
            Reason::Unpaid => "reason-unpaid",
            Reason::Overpaid => "reason-overpaid",
            Reason::PaymentUnknown => "reason-payment-unknown",
            Reason::PaidUnknown => "reason-paid-unknown",
            Reason::InTransit => "reason-in-transit",
            Reason::Courier => "reason-courier",
            Reason::CourierUnknown => "reason-courier-unknown",
            Reason::CreditForOurWork => "reason-credit-for-our-work",
            Reason::Rounding => "reason-rounding",
            Reason::Currency => "reason-currency",
        })
    }

    /// Why this one is a difference: what was paid in advance has no invoice that asks for less.
    pub fn differs(&self, one: &Difference) -> String {
        let is_of_quote = one.documents.iter().all(|document| document.paper != Paper::Invoice);
        match one.reason {
            Reason::Overpaid if is_of_quote => self.say("reason-overpaid-in-advance"),
            reason => self.reason(reason),
        }
    }

    /// A document by what it is and its number: `Invoice R-2026-00017`.
    pub fn document(&self, document: &Document) -> String {
        let number = number_told(document);
        let (id, number) = match document.paper {
            Paper::Quote => ("quote", number.to_owned()),
            Paper::Invoice => ("invoice", number.to_owned()),
            Paper::CreditNote => ("credit-note", number.to_owned()),
            Paper::Payment => ("payment", number.to_owned()),
            Paper::CourierBill => ("movement-courier-bill", number.to_owned()),
            Paper::WorkDone => ("work-done", self.work(number)),
        };
        [&self.say(id), NO_BREAK, &number].concat()
    }

    /// What changed, by what it is and its number, as the accountant has it.
    pub fn changed(&self, change: &Change<'_>) -> String {
        let event = match change.what {
            What::Kept(paper) => {
                return self.document(&Document { paper, number: change.number.into(), place: None });
            }
            What::Posted(event) => event,
        };
        let id = match event {
            Event::Invoice => "invoice",
            Event::Payment => "payment",
            Event::BankCharges => "movement-bank-charges",
            Event::CourierBill => "movement-courier-bill",
            Event::Bonus => "movement-bonus",
            Event::Rounding => "movement-rounding",
        };
        [&self.say(id), NO_BREAK, change.number].concat()
    }

    /// How something changed under a closed month.
    ///
    /// # Examples
    /// ```
    /// use evenfare_engine::language::Language;
    /// use evenfare_paper::words::Words;
    /// use evenfare_reconcile::changed::How;
    /// assert_eq!(Words::of(Language::German).how(How::Gone), "Entfallen: Den Beleg gibt es nicht mehr");
    /// ```
    pub fn how(&self, how: How) -> String {
        self.say(match how {
            How::Gone => "changed-gone",
            How::Different => "changed-different",
            How::Late => "changed-late",
            How::Follows => "changed-follows",
        })
    }

    /// What an amount of a change is of.
    pub fn amount_of(&self, of: Of) -> String {
        match of {
            Of::Account(role) => self.account(role),
            Of::Net => self.say("net"),
            Of::Gross => self.say("gross"),
        }
    }

    /// An account, by the part that it plays.
    pub fn account(&self, role: Role) -> String {
        self.say(match role {
            Role::Receivable => "account-receivable",
            Role::Revenue => "account-revenue",
            Role::VatPayable => "account-vat-payable",
            Role::Bank => "account-bank",
            Role::BankCharges => "account-bank-charges",
            Role::Exchange => "account-exchange",
            Role::Unapplied => "account-unapplied",
            Role::Clearing => "account-clearing",
            Role::CourierCost => "account-courier-cost",
            Role::CourierPayable => "account-courier-payable",
            Role::Bonus => "account-bonus",
            Role::BonusPayable => "account-bonus-payable",
            Role::Rounding => "account-rounding",
            Role::Transit => "account-transit",
        })
    }

    /// A piece of work by its word; what is none stays as it stands.
    fn work(&self, word: &str) -> String {
        let Ok(work) = word.parse::<Work>() else { return word.to_owned() };
        self.say(match work {
            Work::Removal => "work-removal",
            Work::Refitting => "work-refitting",
            Work::Diagnosis => "work-diagnosis",
            Work::LegIn => "line-leg-in",
            Work::LegOut => "line-leg-out",
        })
    }
}

/// Was it entered in a later month than its own, because that one was closed?
pub fn is_late(one: &Transaction) -> bool {
    Month::of(one.day) < Month::of(one.posted)
}

/// A transaction's document, as a party is told it: a payment without our account, a bonus by its month.
pub fn document_told(one: &Transaction) -> &str {
    number_of(one.source.event, &one.source.document)
}

fn number_of(event: Event, document: &str) -> &str {
    match event {
        Event::Payment => payment_told(document),
        Event::Bonus => document.rsplit_once('/').map_or(document, |(_, month)| month),
        _ => document,
    }
}
