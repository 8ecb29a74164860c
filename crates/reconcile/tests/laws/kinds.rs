//! The kinds of faults, and which of them can be told apart on one quote.

use crate::world::{Plan, Style};

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
            Self::OurInvoiceDouble | Self::TheirInvoiceDouble => Touches::Paper,
            Self::UnpaidWhole
            | Self::UnpaidPart
            | Self::Overpaid
            | Self::RoundedPayment
            | Self::CurrencyRate => Touches::Money,
            Self::InvoiceUnknown
            | Self::PaymentUnknown
            | Self::Courier
            | Self::CourierUnknown
            | Self::CreditForRemoval
            | Self::CreditForLeg => Touches::Nothing,
        }
    }

    /// Can both be found on one quote?
    pub fn goes_with(self, other: Self) -> bool {
        let (own, its) = (self.touches(), other.touches());
        let free = own == Touches::Nothing || its == Touches::Nothing;
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
            Self::VatRate => plan.vat = [0; 3],
            _ => {}
        }
        // What is wrongly paid says what it is for; so does what partners and payers in dollars
        // pay.
        let money = self.touches() == Touches::Money;
        if plan.style.is_by_amount() && (money || plan.partners > 0 || plan.in_dollars) {
            plan.style = Style::ByInvoice;
        }
        if plan.style == Style::WithOthers && (money || plan.in_dollars || self.touches() == Touches::All) {
            plan.style = Style::ByInvoice;
        }
        if plan.style == Style::TwinsByAmount && self.touches() != Touches::Nothing {
            plan.style = Style::ByAmount;
        }
    }
}
