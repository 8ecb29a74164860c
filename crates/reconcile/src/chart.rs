//! The chart of accounts, as data: which account plays which part.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::month::Month;

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
    /// Money on its way from one account of ours to another.
    Transit = "transit" "Transfers between own accounts",
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
    accounts: BTreeMap<Role, Arc<str>>,
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

    /// The parts that have an account, and their accounts.
    pub fn accounts(&self) -> impl ExactSizeIterator<Item = (Role, &str)> {
        self.accounts.iter().map(|(role, account)| (*role, &**account))
    }

    /// Has no part an account?
    pub fn is_empty(&self) -> bool {
        self.accounts.is_empty()
    }
}

/// The chart of accounts as it is now, and as months were closed with it: **a closed month keeps its accounts**.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Charts {
    now: Chart,
    /// Of months that were closed with a chart.
    closed: BTreeMap<Month, Chart>,
}

impl Charts {
    /// The chart of now, and those that months were closed with; an empty one is none.
    pub fn new(now: Chart, closed: impl IntoIterator<Item = (Month, Chart)>) -> Self {
        Self { now, closed: closed.into_iter().filter(|(_, chart)| !chart.is_empty()).collect() }
    }

    /// The chart of a month: what it was closed with, else that of now.
    pub fn of(&self, month: Month) -> &Chart {
        self.closed.get(&month).unwrap_or(&self.now)
    }

    /// Accounts that the last closed month was closed with and that are others now: the month, the part, the account
    /// it was and the one it is. Nothing where no chart is handed in now.
    pub fn renumbered(&self) -> Vec<(Month, Role, &str, &str)> {
        let Some((month, last)) = self.closed.last_key_value().filter(|_| !self.now.is_empty()) else {
            return Vec::new();
        };
        let both = last.accounts().map(|(role, was)| (*month, role, was, self.now.account(role)));
        both.filter(|(_, _, was, is)| was != is).collect()
    }
}
