//! What is counted and measured, under the names that Prometheus knows it by.

use metrics::{describe_counter, describe_gauge, describe_histogram};

/// Calls that ended, by `method` and `code`.
pub(super) const CALLS: &str = "evenfare_calls_total";
/// How long calls took, to the last byte of the response, by `method`.
pub(super) const CALL_SECONDS: &str = "evenfare_call_seconds";
/// Calls that are running.
pub(super) const CALLS_IN_FLIGHT: &str = "evenfare_calls_in_flight";
/// Requests that were no calls, by the HTTP `status` that they were answered with.
pub(super) const NO_CALLS: &str = "evenfare_no_calls_total";
/// Prices of partners, by `outcome`.
pub(super) const PARTNER_PRICES: &str = "evenfare_partner_prices_total";
/// 1 where the store can write, 0 where it cannot.
pub(super) const STORE_WRITABLE: &str = "evenfare_store_writable";
/// How far the last event is ahead of this server's clock, in seconds.
pub(super) const CLOCK_BEHIND: &str = "evenfare_clock_behind_seconds";
/// Published editions that this server cannot read.
pub(super) const EDITIONS_UNREADABLE: &str = "evenfare_editions_unreadable";

/// Tells whoever reads them what they are. The recorder has to be there before.
pub fn describe_metrics() {
    describe_counter!(CALLS, "Calls that ended, by method and gRPC code");
    describe_histogram!(CALL_SECONDS, "Seconds from the head of a call to the last byte of its answer");
    describe_gauge!(CALLS_IN_FLIGHT, "Calls that are running");
    describe_counter!(
        NO_CALLS,
        "Requests that are no calls, by HTTP status: 415 or 400 for what is no gRPC, 405 for gRPC-Web that is not posted"
    );
    describe_counter!(PARTNER_PRICES, "Prices that partners asked for, by what became of them");
    describe_gauge!(STORE_WRITABLE, "1 if the store can write, 0 if it cannot");
    describe_gauge!(EDITIONS_UNREADABLE, "Published editions that this server cannot read");
    describe_gauge!(CLOCK_BEHIND, "Seconds by which the last event is ahead of the clock of this server");
}
