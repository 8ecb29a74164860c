//! Month end: `evenfare reconcile` and `evenfare close`.

// Reading order: each module uses only those above it.
mod done;
mod open;
mod told;
mod margins;
mod transit;
mod bonuses;
mod changes;
mod page;
mod reconcile;
mod close;

pub(in crate::cli) use close::close;
pub(in crate::cli) use reconcile::reconcile;
