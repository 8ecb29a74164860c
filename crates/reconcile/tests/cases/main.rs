//! Month end, case by case: small books, and all that comes of them.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic)]

#[path = "../laws/world.rs"]
#[allow(dead_code)]
mod world;
#[path = "../laws/kinds.rs"]
#[allow(dead_code)]
mod kinds;
#[path = "../laws/faults.rs"]
#[allow(dead_code)]
mod faults;
#[path = "../laws/ties.rs"]
#[allow(dead_code)]
mod ties;
mod booked;
mod held_back;
mod own;

mod quotes;
mod trials;
mod slips;
mod unknown;
mod statements;
mod kept_back;
mod left_open;
mod matched;
mod by_amount;
mod payers;
mod one_firm;
mod asked;
mod in_question;
mod parts;
mod edges;
mod held;
mod twice;
mod credits;
mod followed;
mod given_back;
mod before_credits;
mod other_party;
mod advances;
mod refunds;
mod goes_back;
mod reversed;
mod undone;
mod one_after_another;
mod small_months;
mod rates;
mod decided;
mod couriers;
mod accounting_vat;
mod taken_off;
mod lessened;
mod transfers;
mod sides;
mod references;
mod not_sides;
mod ways;
mod bonuses;
mod paid_out;
mod posted;
mod settled;
mod settled_by;
mod told;
mod carried;
mod begun;
mod changed;
mod restated;
mod digests;
mod words;
mod naive;
