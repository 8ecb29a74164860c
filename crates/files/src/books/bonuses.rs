//! `bonuses.csv`: steps of yearly bonuses, each by itself and all that are agreed with one partner.

use std::collections::BTreeMap;

use evenfare_engine::money::{Currency, Percent};
use evenfare_engine::text::Code;
use evenfare_reconcile::input::Place;
use evenfare_reconcile::terms::BonusTier;

use crate::books::list::{Columns, parse as rows_of};
use crate::books::rows::{Said, Shared, amount, bytes, once, sound};
use crate::fields::Fields;
use crate::log::Log;
use crate::node::Node;
use crate::source::Bytes;

const COLUMNS: Columns = Columns { names: &["partner", "year", "from_turnover", "percent"], optional: &[] };
/// 100 %, in ten-thousandths.
const WHOLE: i64 = 1_000_000;

/// One row, as far as it can be read.
struct Row {
    place: Place,
    partner: Option<Shared>,
    year: Option<i32>,
    from_minor: Option<i64>,
    percent: Option<Percent>,
    cells: Cells,
}

/// Where the cells of a row stand.
#[derive(Clone)]
struct Cells {
    partner: Bytes,
    year: Bytes,
    percent: Bytes,
}

/// Reads the steps. Without the currency of the books no step says from where on it counts: then only cells are
/// looked at.
pub(super) fn parse(text: &str, books: Option<Currency>, log: &mut Log) -> Vec<BonusTier> {
    let rows = rows_of(text, &COLUMNS, log, |place, fields| Some(row(place, books, fields)));
    let mut steps = Vec::new();
    for Row { place, partner, year, from_minor, percent, cells } in &rows {
        if let (Some(partner), Some(year), Some(from), Some(percent)) =
            (partner, *year, *from_minor, *percent)
        {
            let (key, bytes) = ((Shared::clone(partner), year, from), cells.partner.clone());
            steps.push(Said { place: place.clone(), key, value: percent, bytes });
        }
    }
    let steps = once(steps, log);
    rising(&steps, &rows, log);
    without_gaps(&rows, log);
    let tier = |(place, (partner, year, from_minor), percent)| BonusTier {
        place,
        partner,
        year,
        from_minor,
        percent,
    };
    steps.into_iter().map(tier).collect()
}

fn row(place: Place, books: Option<Currency>, fields: &mut Fields) -> Row {
    let cells = Cells {
        partner: bytes(fields, "partner"),
        year: bytes(fields, "year"),
        percent: bytes(fields, "percent"),
    };
    let partner = sound::<Code>(fields, "partner").map(|code| code.as_str().into());
    let year = sound(fields, "year");
    let year = within(
        fields,
        "year",
        year,
        |year| (1000..=9999).contains(year),
        "a year of four digits such as 2026",
    );
    let from_minor = match books {
        Some(currency) => amount(fields, "from_turnover", currency),
        None => fields.need_with("from_turnover", "an amount", |_, _| None),
    };
    let from_minor =
        within(fields, "from_turnover", from_minor, |from| *from >= 0, "a turnover of nothing or more");
    let percent = sound::<Percent>(fields, "percent");
    let percent =
        within(fields, "percent", percent, |percent| percent.scaled() <= WHOLE, "a percentage from 0 to 100");
    Row { place, partner, year, from_minor, percent, cells }
}

/// A value within its bounds; one that is not is reported.
fn within<T>(
    fields: &mut Fields,
    name: &'static str,
    value: Option<T>,
    is_within: impl FnOnce(&T) -> bool,
    expected: &str,
) -> Option<T> {
    let value = value?;
    if is_within(&value) {
        return Some(value);
    }
    if let Some(Node { bytes, .. }) = fields.node(name) {
        let found = fields.log.source().text().get(bytes.clone()).unwrap_or_default().to_owned();
        fields.log.error(bytes.clone(), "out_of_range", &found, expected);
    }
    None
}

/// A higher turnover gives more: whoever reached the step below would lose by it.
fn rising(steps: &[(Place, (Shared, i32, i64), Percent)], rows: &[Row], log: &mut Log) {
    let cells: BTreeMap<u32, &Cells> = rows.iter().map(|row| (row.place.line, &row.cells)).collect();
    for (below, step) in steps.iter().zip(steps.iter().skip(1)) {
        let (below_at, (partner, year, _), before) = below;
        let (at, (own, of_year, _), percent) = step;
        if (partner, year) != (own, of_year) || percent > before {
            continue;
        }
        let Some(cells) = cells.get(&at.line) else { continue };
        let expected =
            format!("more than the {before} percent of line {}, which is the step below", below_at.line);
        log.error(cells.percent.clone(), "not_rising", &percent.to_string(), expected);
    }
}

/// A year that is missing between two others is more likely forgotten than one in which nothing was agreed, which can
/// be said.
fn without_gaps(rows: &[Row], log: &mut Log) {
    // The first row of each year; none of a partner of whom one year cannot be read: it may be the one that is missing.
    let mut years: BTreeMap<&str, Option<BTreeMap<i32, &Row>>> = BTreeMap::new();
    for row in rows {
        let Some(partner) = row.partner.as_deref() else { return };
        let known = years.entry(partner).or_insert_with(|| Some(BTreeMap::new()));
        match (known.as_mut(), row.year) {
            (Some(known), Some(year)) => drop(known.entry(year).or_insert(row)),
            _ => *known = None,
        }
    }
    for (partner, years) in years {
        let years: Vec<(i32, &Row)> = years.into_iter().flatten().collect();
        for ((before, first), (year, row)) in years.iter().zip(years.iter().skip(1)) {
            let (from, to) = (before.saturating_add(1), year.saturating_sub(1));
            if from > to {
                continue;
            }
            let missing = if from == to { from.to_string() } else { format!("{from} to {to}") };
            let line = first.place.line;
            let expected = format!(
                "rows of {partner} for {missing} too, as line {line} is of {before}; 0 percent from 0 where nothing was agreed"
            );
            log.error(row.cells.year.clone(), "year_missing", &year.to_string(), expected);
        }
    }
}
