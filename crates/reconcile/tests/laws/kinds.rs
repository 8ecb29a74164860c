//! The kinds of faults, and which of them can be told apart on one quote.

use crate::world::{Corrected, Plan, Style};

macro_rules! faults {
    ($($name:ident,)*) => {
        /// A fault of every kind there is.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum Fault { $($name,)* }

        pub const FAULTS: &[Fault] = &[$(Fault::$name,)*];
    };
}

faults! {
    ChargedMore,
    ChargedLess,
    ShareBeyond,
    ShareBelow,
    AgreementDate,
    VatCategory,
    VatRate,
    VatAmount,
    OurInvoiceMissing,
    TheirInvoiceMissing,
    OurInvoiceDouble,
    TheirInvoiceDouble,
    InvoiceReversed,
    InvoiceUnknown,
    InvoiceToAnother,
    CreditToAnother,
    UnpaidWhole,
    UnpaidPart,
    Overpaid,
    PaymentUnknown,
    Courier,
    CourierUnknown,
    CreditForRemoval,
    CreditForLeg,
    RoundedNet,
    RoundedPayment,
    CurrencyOfPaper,
    CurrencyRate,
    PaidBack,
    AdvanceTakenBack,
    GivenTooMuch,
    RefundedByQuote,
    TransferTakenBack,
    TransferLessCharges,
    TransfersAlike,
    TransfersNamed,
}

/// What a fault touches: two that touch one thing make one difference together, so they are not put upon
/// the same quote.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Touches {
    Net,
    Vat,
    Paper,
    Money,
    Nothing,
    All,
}

impl Fault {
    fn touches(self) -> Touches {
        match self {
            Self::ChargedMore
            | Self::ChargedLess
            | Self::ShareBeyond
            | Self::ShareBelow
            | Self::AgreementDate
            | Self::RoundedNet => Touches::Net,
            Self::VatCategory | Self::VatRate | Self::VatAmount => Touches::Vat,
            Self::OurInvoiceMissing
            | Self::TheirInvoiceMissing
            | Self::InvoiceReversed
            | Self::CurrencyOfPaper => Touches::All,
            Self::OurInvoiceDouble | Self::TheirInvoiceDouble | Self::InvoiceToAnother => Touches::Paper,
            Self::UnpaidWhole
            | Self::UnpaidPart
            | Self::Overpaid
            | Self::RoundedPayment
            | Self::CurrencyRate
            | Self::PaidBack => Touches::Money,
            Self::InvoiceUnknown
            | Self::CreditToAnother
            | Self::PaymentUnknown
            | Self::Courier
            | Self::CourierUnknown
            | Self::CreditForRemoval
            | Self::CreditForLeg
            | Self::AdvanceTakenBack
            | Self::GivenTooMuch
            | Self::RefundedByQuote
            | Self::TransferTakenBack
            | Self::TransferLessCharges
            | Self::TransfersAlike
            | Self::TransfersNamed => Touches::Nothing,
        }
    }

    /// Can both be found on one quote?
    pub fn goes_with(self, other: Self) -> bool {
        let (own, its) = (self.touches(), other.touches());
        let free = own == Touches::Nothing || its == Touches::Nothing;
        // By a quote that was taken back nobody is credited for anything.
        let is_credited = |one: Self| matches!(one, Self::CreditForRemoval | Self::CreditForLeg);
        let is_taken_back = |one: Self| one == Self::InvoiceReversed;
        if is_credited(self) && is_taken_back(other) || is_taken_back(self) && is_credited(other) {
            return false;
        }
        self != other && (free || own != its && own != Touches::All && its != Touches::All)
    }

    /// The quote as this fault needs it.
    pub fn fitted(self, plan: &mut Plan) {
        match self {
            Self::ShareBeyond | Self::ShareBelow | Self::AgreementDate => {
                plan.partners = plan.partners.max(1)
            }
            Self::TheirInvoiceMissing | Self::TheirInvoiceDouble | Self::CurrencyOfPaper => {
                plan.partners = plan.partners.max(1);
            }
            Self::CreditForRemoval | Self::CreditForLeg => {
                plan.partners = plan.partners.max(1);
                plan.has_credits = true;
            }
            Self::CurrencyRate => plan.in_dollars = true,
            // The number of the wrong one, which was his who bought, is made of the right one's.
            Self::InvoiceToAnother => plan.corrected = Corrected::No,
            Self::VatRate => plan.vat = [0; 3],
            _ => {}
        }
        let has_partners = plan.partners > 0 || plan.in_dollars;
        let says_what_for = match self {
            // Who names nothing is known by one sum.
            Self::Overpaid => matches!(plan.style, Style::InPartsByAmount | Style::TwinsByAmount),
            Self::UnpaidPart | Self::RoundedPayment => plan.style == Style::TwinsByAmount,
            Self::CurrencyRate => plan.style.is_by_amount(),
            _ => false,
        };
        // Partners have many invoices and dollars come as euros, so those payments name what they are for.
        let is_of_two = matches!(plan.style, Style::TwinsByAmount | Style::TwinsByInvoice);
        if (plan.style.is_by_amount() || is_of_two) && has_partners || says_what_for {
            plan.style = Style::ByInvoice;
        }
        let money = self.touches() == Touches::Money;
        if plan.style == Style::WithOthers && (money || plan.in_dollars || self.touches() == Touches::All) {
            plan.style = Style::ByInvoice;
        }
        let is_of_two = matches!(plan.style, Style::TwinsByAmount | Style::TwinsByInvoice);
        if is_of_two && self.touches() != Touches::Nothing && !money {
            plan.style = Style::ByAmount;
        }
        // An invoice to another is found by what a payment names, not by who paid; of two parties it would be asked.
        let is_of_two = matches!(plan.style, Style::TwinsByAmount | Style::TwinsByInvoice);
        if self == Self::InvoiceToAnother && (plan.style.is_by_amount() || is_of_two) {
            plan.style = Style::ByInvoice;
        }
        // Whose the charges on the way are then is a matter between banks.
        if self == Self::PaidBack && plan.style == Style::LessCharges {
            plan.style = Style::ByInvoice;
        }
    }
}
