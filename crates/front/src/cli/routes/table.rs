//! Routes side by side: a column for each, in blocks that fit the page.

use evenfare_engine::money::Currency;

use super::sides::{Figures, PartnerSide, Side, Sides};
use crate::cli::text::money::{amount, with_currency};
use crate::cli::text::words::{route, vat_due};
use crate::cli::text::wrap::width;
use crate::cli::text::{Cell, Column, Page, Table, WIDTH, style};

/// The page: the columns, why some are refused, and whether the end price is the same.
pub(super) fn page(sides: &Sides, currency: Currency) -> String {
    let mut page = Page::default();
    page.title(
        &format!("Routes of {}", sides.reference),
        &format!("{}, tariff {}", sides.currency, sides.edition),
    );
    let rows = rows(sides, currency);
    let columns: Vec<Vec<Cell>> = sides.routes.iter().map(|side| column(side, sides, &rows)).collect();
    let labels: Vec<Cell> = rows.iter().map(|row| Cell::styled(&row.label, row.style)).collect();
    for block in blocks(&labels, &columns) {
        page.blank();
        page.table(&block);
    }
    page.blank();
    if sides.routes.iter().any(|side| side.is_the_jobs_own && !side.route.is_empty()) {
        page.hanging(0, "*", style::PLAIN, "the route that the job names, with the work it names");
    }
    for side in &sides.routes {
        let Some(refused) = &side.refused else { continue };
        let text = match side.end_net_minor {
            Some(_) => refused.text.clone(),
            None => format!(
                "{}; no price is computed by this route, the end price is that of the others",
                refused.text
            ),
        };
        page.labelled(style::BAD, &route(&side.route), &text);
    }
    for side in &sides.routes {
        let alternatives = side.figures.iter().flat_map(|figures| &figures.alternatives);
        for refused in alternatives.filter(|alternative| alternative.is_refused) {
            let text = format!(
                "the alternative {} is refused: too little would be left to the workshop",
                refused.offer
            );
            page.labelled(style::CARE, &route(&side.route), &text);
        }
    }
    page.blank();
    conclusion(&mut page, sides, currency);
    page.finish()
}

fn conclusion(page: &mut Page, sides: &Sides, currency: Currency) {
    let priced = sides.end_prices().count();
    let end = sides.end_prices().next().map_or_else(String::new, |end| with_currency(end, currency));
    if sides.is_even() {
        let routes = if priced == 1 { String::from("the one route") } else { format!("all {priced} routes") };
        let alternatives = sides
            .routes
            .iter()
            .filter_map(|side| side.figures.as_ref())
            .map(|figures| figures.alternatives.len())
            .max();
        let others = match alternatives.unwrap_or(0) {
            0 => String::new(),
            1 => String::from(" So is that of its alternative."),
            number => format!(" So is that of each of its {number} alternatives."),
        };
        page.paragraph(
            0,
            style::STRONG,
            &format!("The end price is the same in {routes}: {end} net.{others}"),
        );
        return;
    }
    let mut ends: Vec<i64> = sides.end_prices().collect();
    ends.sort_unstable();
    ends.dedup();
    let what = if sides.end_price_is_the_same { "VAT DUE" } else { "END PRICE" };
    let ends: Vec<String> = ends.into_iter().map(|end| with_currency(end, currency)).collect();
    let text = format!(
        "THE {what} IS NOT THE SAME BY EVERY ROUTE (end price: {}). This is an error of the program: quote nothing by it.",
        ends.join(" or ")
    );
    page.paragraph(0, style::BAD, &text);
}

/// One row: its label, and what stands there for a route.
struct Row<'a> {
    label: String,
    style: anstyle::Style,
    shown: Box<dyn Fn(&Side) -> String + 'a>,
}

fn rows<'a>(sides: &'a Sides, currency: Currency) -> Vec<Row<'a>> {
    let mut rows: Vec<Row<'a>> = Vec::new();
    let mut add = |label: String, style, shown: Box<dyn Fn(&Side) -> String + 'a>| {
        rows.push(Row { label, style, shown })
    };
    let figure = move |of: fn(&Figures) -> Option<i64>| -> Box<dyn Fn(&Side) -> String> {
        Box::new(move |side| {
            let Some(figures) = &side.figures else { return String::from("–") };
            of(figures).map_or_else(String::new, |minor| amount(minor, currency))
        })
    };
    let partner = move |nth: usize, of: fn(&PartnerSide) -> i64| -> Box<dyn Fn(&Side) -> String> {
        Box::new(move |side| match &side.figures {
            Some(figures) => {
                figures.partners.get(nth).map_or_else(String::new, |partner| amount(of(partner), currency))
            }
            None if nth < side.route.len() => String::from("–"),
            None => String::new(),
        })
    };

    let common = sides.end_prices().next();
    let end = move |side: &Side| {
        side.end_net_minor.or(common).map_or_else(String::new, |end| amount(end, currency))
    };
    add(String::from("End price, net"), style::STRONG, Box::new(end));
    add(String::from(vat_due(sides.customer_country)), style::PLAIN, figure(|figures| figures.vat_due_minor));
    let longest = sides.routes.iter().map(|side| side.route.len()).max().unwrap_or(0);
    for (nth, ordinal) in (0..longest).map(|nth| (nth, ordinal(nth))) {
        add(format!("{ordinal} partner pays"), style::PLAIN, partner(nth, |partner| partner.buys_at_minor));
        add(String::from("  keeps"), style::PLAIN, partner(nth, |partner| partner.share_minor));
    }
    add(String::from("Workshop keeps"), style::STRONG, figure(|figures| Some(figures.workshop_net_minor)));
    add(String::from("  its cost"), style::PLAIN, figure(|figures| Some(figures.cost_minor)));
    add(String::from("  contribution"), style::PLAIN, figure(|figures| figures.contribution_minor));
    for nth in 0..=longest {
        let shown = move |side: &Side| match &side.figures {
            Some(figures) => {
                figures.vat_categories.get(nth).map_or_else(String::new, |categories| categories.join("+"))
            }
            None if nth <= side.route.len() => String::from("–"),
            None => String::new(),
        };
        add(format!("VAT of {} sale", ordinal(nth)), style::PLAIN, Box::new(shown));
    }
    rows
}

fn ordinal(nth: usize) -> String {
    match nth {
        0 => String::from("1st"),
        1 => String::from("2nd"),
        2 => String::from("3rd"),
        _ => format!("{}th", nth.saturating_add(1)),
    }
}

/// The cells of a route: its name on as many lines as the longest route has partners, its state,
/// and its rows.
fn column(side: &Side, sides: &Sides, rows: &[Row<'_>]) -> Vec<Cell> {
    let height = sides.routes.iter().map(|side| side.route.len()).max().unwrap_or(0).max(1);
    let mut name: Vec<String> = side.route.iter().map(|code| code.to_string()).collect();
    if name.is_empty() {
        name.push(String::from("direct"));
    }
    name.iter_mut().skip(1).for_each(|code| code.insert_str(0, "→ "));
    if let Some(last) = name.last_mut().filter(|_| side.is_the_jobs_own && !side.route.is_empty()) {
        last.push_str(" *");
    }
    name.resize(height, String::new());
    let mut cells: Vec<Cell> = name.into_iter().map(|line| Cell::styled(line, style::STRONG)).collect();
    if sides.routes.iter().any(|side| side.refused.is_some()) {
        let state = match side.refused.as_ref().map(|reason| reason.code) {
            None => Cell::styled("open", style::FAINT),
            Some("not_open") => Cell::styled("not open", style::BAD),
            Some(_) => Cell::styled("REFUSED", style::BAD),
        };
        cells.push(state);
    }
    cells.extend(rows.iter().map(|row| Cell::styled((row.shown)(side), row.style)));
    cells
}

/// As many tables, one below the other, as it takes to fit the page.
fn blocks(labels: &[Cell], columns: &[Vec<Cell>]) -> Vec<Table> {
    let height = columns.first().map_or(0, Vec::len);
    let heads = height.saturating_sub(labels.len());
    let labels: Vec<Cell> = (0..heads).map(|_| Cell::from("")).chain(labels.iter().cloned()).collect();
    let wide = |cells: &[Cell]| cells.iter().map(|cell| width(cell.text())).max().unwrap_or(0);
    let label = wide(&labels);
    let mut blocks: Vec<Vec<&Vec<Cell>>> = Vec::new();
    let mut taken = WIDTH;
    for cells in columns {
        let more = wide(cells).saturating_add(2);
        match blocks.last_mut().filter(|_| taken.saturating_add(more) <= WIDTH) {
            Some(block) => {
                block.push(cells);
                taken = taken.saturating_add(more);
            }
            None => {
                blocks.push(vec![cells]);
                taken = label.saturating_add(more);
            }
        }
    }
    let table = |block: Vec<&Vec<Cell>>| {
        let mut kinds = vec![Column::LEFT];
        kinds.extend(block.iter().map(|_| Column::RIGHT));
        let mut table = Table::new(0, kinds);
        for (row, label) in labels.iter().enumerate() {
            let cells = block.iter().filter_map(|cells| cells.get(row).cloned());
            table.cells(std::iter::once(label.clone()).chain(cells).collect());
        }
        table.without_empty_rows()
    };
    blocks.into_iter().map(table).collect()
}

#[cfg(test)]
mod tests {
    use super::super::sides::compared;
    use super::*;

    fn sides(ends: &[Option<i64>]) -> Option<Sides> {
        let side = |(number, end): (usize, &Option<i64>)| {
            let route = (0..number).map(|nth| format!("P-{nth}").parse().ok()).collect::<Option<_>>()?;
            Some(Side { route, is_the_jobs_own: false, end_net_minor: *end, refused: None, figures: None })
        };
        let routes: Vec<Side> = ends.iter().enumerate().map(side).collect::<Option<_>>()?;
        let (end_price_is_the_same, vat_due_is_the_same) = compared(&routes);
        let code = || "C-1".parse().ok();
        Some(Sides {
            reference: code()?,
            edition: code()?,
            currency: "EUR",
            customer_country: "SK".parse().ok()?,
            end_price_is_the_same,
            vat_due_is_the_same,
            routes,
        })
    }

    fn check(ends: &[Option<i64>], last: &str) {
        let page = "EUR".parse().ok().and_then(|eur| Some(page(&sides(ends)?, eur))).unwrap_or_default();
        assert!(page.replace('\n', " ").contains(last), "{page}");
        assert!(page.lines().all(|line| width(&anstream::adapter::strip_str(line).to_string()) <= WIDTH));
    }

    #[test]
    fn the_last_line_is_computed() {
        check(&[Some(100), Some(100)], "The end price is the same in all 2 routes: 1.00 EUR net.");
        check(&[Some(100), None], "The end price is the same in the one route: 1.00 EUR net.");
        check(
            &[Some(100), Some(101)],
            "THE END PRICE IS NOT THE SAME BY EVERY ROUTE (end price: 1.00 EUR or 1.01 EUR).",
        );
    }

    #[test]
    fn many_routes_stand_in_blocks() {
        check(&[Some(1_234_567_890_123); 9], "all 9 routes");
    }
}
