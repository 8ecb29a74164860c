//! Quotes and invoices as XML: UBL 2.1 (ISO/IEC 19845), invoices by EN 16931.
//!
//! One document is one sale of one offer. A quote with alternatives is as many quotations, each under
//! the quote's number with the offer's name behind it, and each says that one of all is accepted.
//!
//! Invoices and credit notes name the core of EN 16931 itself (`urn:cen.eu:en16931:2017`) and no profile:
//! those of single countries and networks ask for electronic addresses and contacts that a quote does not
//! have. Of lines, the quantity is the one that the quote says (`104 MIN`), and the price is the line's
//! net for just that quantity (its base quantity), so that price times quantity is the net exactly.
//! What is below nothing has a quantity below nothing, for a price never is (BR-27). A credit note is
//! written from the reversal of a quote, and its amounts are what it takes back.
//!
//! EN 16931 has amounts with two decimals at most. An amount in a currency with three is written where
//! its third is zero, and else the whole document is refused; so is VAT that was rounded to whole yen,
//! where the standard would have it rounded to two decimals. UBL quotations have no such bounds.
//!
//! VAT charged in another currency than that of the seller's country is said in both (BT-6 and BT-111), by
//! the rate of the edition that has priced the quote. A day of supply that is to come is no day of supply:
//! an invoice issued before it names the delivery period instead (BG-14), and that VAT becomes chargeable
//! with the delivery (BT-8) where it does.
//!
//! Characters that XML cannot carry stand as U+FFFD.

// Reading order: each module uses only those above it.
mod element;
mod refused;
mod money;
mod party;
mod tax;
mod line;
mod quotation;
mod billing;
mod request;

pub use billing::{credit_note, invoice};
pub use quotation::{Quotation, quotation};
pub use refused::NotWritable;
pub use request::request;
