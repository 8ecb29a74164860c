//! Each unit: what was found, what is done and why.

use evenfare_engine::category::Category;
use evenfare_engine::job::Task;
use evenfare_engine::quote::PlanStep;
use evenfare_engine::text::Code;
use evenfare_engine::view::{UnitView, alike, in_all};
use evenfare_engine::why::Because;

use super::sheet::Sheet;
use crate::cli::text::money::grouped;
use crate::cli::text::words::task;
use crate::cli::text::{Cell, Column, Page, Table, style};

pub(super) fn write(page: &mut Page, sheet: Sheet<'_>) {
    for unit in &sheet.offer.units {
        page.heading(&format!("Unit {}", unit.id), &format!("{}, {}", unit.family_text, task(unit.task)));
        let mut about = format!("{}, serial {}", unit.family, unit.serial);
        if let Some(cover) = &unit.open_cover {
            about
                .push_str(&format!(", returned under the warranty of {} until {}", cover.quote, cover.until));
            if let Some(cycles) = cover.cycles_left {
                about.push_str(&format!(" or for {} more cycles", grouped(&cycles.to_string())));
            }
        }
        page.paragraph(2, style::PLAIN, &about);
        found(page, unit);
        done(page, unit);
    }
}

fn found(page: &mut Page, unit: &UnitView) {
    if unit.findings.is_empty() {
        return;
    }
    let mut table = Table::new(2, [Column::TEXT.least(38), Column::LEFT, Column::TEXT]);
    table.all(style::FAINT, ["Found", "where", "code"]);
    for finding in &unit.findings {
        let times = if finding.times == 1 { String::new() } else { format!(", {} times", finding.times) };
        let covered = if finding.covered { "" } else { " (under no warranty)" };
        let position = finding.position.as_ref().map_or("", |position| position.as_str());
        let text = format!("{}{times}{covered}", finding.text);
        table.row([text.into(), position.into(), Cell::styled(&finding.code, style::FAINT)]);
    }
    page.table(&table);
}

fn done(page: &mut Page, unit: &UnitView) {
    if unit.plan.is_empty() || unit.task != Task::Refresh {
        return;
    }
    let mut table = Table::new(2, [Column::TEXT.least(38), Column::RIGHT, Column::LEFT.most(26)]);
    for (category, heading) in
        [(Category::Part, "Replaced"), (Category::Labour, "Done"), (Category::Test, "Tested")]
    {
        let steps: Vec<&PlanStep> = unit.plan.iter().filter(|step| step.category == category).collect();
        if steps.is_empty() {
            continue;
        }
        table.all(style::FAINT, [heading, "", "why"]);
        for alike in alike(steps) {
            let (first, positions) = (alike.step, alike.positions);
            let at =
                if positions.is_empty() { String::new() } else { format!(" at {}", positions.join(", ")) };
            let each = without_pieces(&first.quantity);
            let quantity = match alike.count {
                1 => each.to_owned(),
                number if each == "1" => number.to_string(),
                number => format!("{number} x {each}"),
            };
            let sum = in_all(&unit.plan, first);
            let sum = sum.map_or_else(String::new, |sum| format!(", {} in all", without_pieces(&sum)));
            table.row([
                format!("{}{at}{sum}", first.text).into(),
                quantity.into(),
                Cell::styled(why(first), style::FAINT),
            ]);
        }
    }
    page.table(&table);
}

/// Pieces need no unit.
fn without_pieces(quantity: &str) -> &str {
    quantity.strip_suffix(" pc").unwrap_or(quantity)
}

/// Why, without what the rows of a page say already: the words that every reason has, and the
/// place where the finding is where the part is.
fn why(step: &PlanStep) -> String {
    let at_part = |at: &Code| step.position.as_deref() == Some(at.as_str());
    let reason = |because: &Because| match because {
        Because::Finding { code, position: Some(at) } if at_part(at) => code.to_string(),
        _ => {
            let text = because.to_string();
            let short = text.strip_prefix("finding ").or_else(|| text.strip_prefix("refresh, "));
            short.unwrap_or(&text).to_owned()
        }
    };
    step.why.reasons().iter().map(reason).collect::<Vec<_>>().join("; ")
}
