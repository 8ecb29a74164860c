//! Commands about what is kept: the server, its callers, tariffs tried and published, month end, the audit,
//! backups.

// Reading order: each module uses only those above it.
pub(super) mod place;
pub(super) mod caller;
pub(super) mod publish;
pub(super) mod trial;
pub(super) mod audit;
pub(super) mod backup;
pub(super) mod serve;
pub(super) mod quote;
pub(super) mod quotes;
pub(super) mod paper;
pub(super) mod month;
