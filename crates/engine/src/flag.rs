//! What somebody should know about a quote before it goes out.

macro_rules! flags {
    ($($(#[$doc:meta])* $name:ident $code:literal $text:literal;)*) => {
        /// Something to know about a quote. Raised where it holds; none stops the quote.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Flag { $($(#[$doc])* $name,)* }

        impl Flag {
            /// All of them.
            pub const ALL: &'static [Flag] = &[$(Flag::$name,)*];

            /// Its stable name.
            pub const fn code(self) -> &'static str {
                match self { $(Self::$name => $code,)* }
            }

            /// In words for the office, which sees all parties.
            pub const fn text(self) -> &'static str {
                match self { $(Self::$name => $text,)* }
            }
        }
    };
}

flags! {
    /// The net end price passes the tariff's share of the replacement value.
    Uneconomic "uneconomic" "the repair costs more than the tariff's share of a new unit";
    /// Sold directly, the end price less cost stays below the minimum contribution.
    UnderFloor "under_floor" "the end price leaves less than the minimum contribution";
    /// The shares of the route were scaled down to keep the workshop's floor.
    SharesScaled "shares_scaled" "the partners' shares were scaled down to keep the workshop's minimum";
    /// A part counts as worn because age, cycles or hours could not be read.
    WearUnknown "wear_unknown" "parts whose age or wear could not be read count as worn";
    /// Something is free because the warranty of an earlier job is open.
    UnderWarranty "under_warranty" "work is free under the warranty of an earlier job";
    /// No VAT rate is known for the end customer's country.
    VatNotKnown "vat_not_known" "no VAT rate is known for the end customer's country";
    /// Goods cross a border through a chain of sellers.
    GoodsInChain "goods_in_chain" "goods cross a border through a chain of sellers: have the VAT of each sale confirmed";
    /// A sale needs more than one invoice, as category O stands alone; told to whoever sees that sale.
    SeveralInvoices "several_invoices" "a sale needs two invoices: what is not subject to VAT stands on one of its own";
}

#[cfg(feature = "serde")]
impl serde::Serialize for Flag {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.code())
    }
}
