//! The chart of accounts, as data: which account plays which part.

use std::sync::Arc;

macro_rules! roles {
    ($($(#[$doc:meta])* $name:ident = $word:literal $text:literal,)*) => {
        /// The part that an account plays in the journal.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Role { $($(#[$doc])* $name,)* }

        impl Role {
            /// All of them, in order.
            pub const ALL: &'static [Self] = &[$(Self::$name,)*];

            /// The word that stands for it in a chart of accounts.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$name => $word,)* }
            }

            /// In words.
            pub const fn text(self) -> &'static str {
                match self { $(Self::$name => $text,)* }
            }
        }
    };
}

roles! {
    /// What partners and end customers owe.
    Receivable = "receivable" "Receivables from partners and customers",
    /// What repairs bring in, net of VAT.
    Revenue = "revenue" "Revenue from repairs",
    /// VAT that was charged and is owed to the tax office.
    VatPayable = "vat_payable" "VAT charged",
    /// Money at banks.
    Bank = "bank" "Bank",
    /// What banks keep back.
    BankCharges = "bank_charges" "Bank charges",
    /// What exchange rates gain or lose between invoice and payment.
    Exchange = "exchange" "Exchange differences",
    /// Paid, but not for an invoice yet.
    Unapplied = "unapplied" "Payments not yet applied",
    /// Paid or received for other things than partner margins.
    Clearing = "clearing" "Clearing with the rest of the books",
    /// What couriers bill.
    CourierCost = "courier_cost" "Courier",
    /// What is owed to couriers.
    CourierPayable = "courier_payable" "Payable to couriers",
    /// What volume bonuses take from revenue.
    Bonus = "bonus" "Volume bonuses",
    /// What is owed to partners as bonus.
    BonusPayable = "bonus_payable" "Bonuses owed to partners",
    /// Up to a few minor units that nobody asks for.
    Rounding = "rounding" "Rounding differences",
}

impl Role {
    /// Does the account belong to a party's own account: what he owes, or is owed?
    pub const fn is_of_party(self) -> bool {
        matches!(self, Self::Receivable | Self::Unapplied | Self::BonusPayable)
    }
}

/// The account numbers of the workshop's own chart.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Chart {
    accounts: std::collections::BTreeMap<Role, Arc<str>>,
}

impl Chart {
    /// From rows in any order.
    pub fn new(rows: impl IntoIterator<Item = (Role, Arc<str>)>) -> Self {
        Self { accounts: rows.into_iter().collect() }
    }

    /// The account of a part; its word where the chart has none.
    pub fn account(&self, role: Role) -> &str {
        self.accounts.get(&role).map_or(role.word(), |account| account)
    }
}
