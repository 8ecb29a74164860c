//! `evenfare routes`: one job by every route, side by side.

mod sides;
mod table;

use super::args::{Format, RoutesArgs};
use super::input::{self, Input};
use super::outcome::{Answer, Exit, Failure, json};

/// Prices the job by every route.
pub(super) fn run(args: &RoutesArgs) -> Result<Answer, Failure> {
    let input = input::read(&args.job, &args.by.tariff)?;
    let answer = answer(&input, args.format)?;
    Ok(answer.with_note(input.note(&args.by.tariff)))
}

/// The table, and the exit code: an end price that depends on the route is an error of this program.
pub(super) fn answer(input: &Input, format: Format) -> Result<Answer, Failure> {
    let edition = input.edition()?;
    let sides = sides::sides(input, edition)?;
    let text = match format {
        Format::Json => json(&sides)?,
        Format::Text => table::page(&sides, input.currency(edition)),
    };
    let exit = if sides.is_even() { Exit::Fine } else { Exit::Internal };
    Ok(Answer { exit, ..Answer::new(text) })
}
