//! The computation once more, as plainly as it can be written: what a law expects.
//!
//! Everything is looked up in the rows again and again, every amount is a rational, nothing is kept
//! for later. No function of the engine is called but to read a number out of a row.

mod cost;
mod end;
mod plan;
mod route;
mod tax;

pub use cost::{CostLine, costs, currency_of, tariff_to_job};
pub use end::{EndLine, end_lines, lines_of};
pub use plan::{Asked, Way, asked, charged, under_warranty, way, ways};
pub use route::{Keeps, carried_by_partners, minimum_contribution};
pub use tax::{groups, standard_rate};
