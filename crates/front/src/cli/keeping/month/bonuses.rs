//! Volume bonuses: what partners have earned, and how far the next step is.

use evenfare_reconcile::earned::Earned;

use crate::cli::text::money::{SPACE, amount};
use crate::cli::text::{Cell, Column, Page, Table, style};
use crate::month::Done;

/// Each as it stands at the end of what is shown.
pub(super) fn table(page: &mut Page, done: &Done) {
    let all: Vec<&Earned> = done.bonuses().collect();
    let of_one = |a: &&Earned, b: &&Earned| (&a.partner, a.year) == (&b.partner, b.year);
    let mut last = all.chunk_by(of_one).filter_map(<[_]>::last).peekable();
    if last.peek().is_none() {
        return;
    }
    page.heading("Bonuses", &format!("on what was invoiced in the year so far, net, in {}", done.currency));
    let right = Column::RIGHT;
    let mut table = Table::new(0, [Column::TEXT.least(10), Column::LEFT, right, right, right, right, right]);
    table.all(style::FAINT, ["", "at the end of", "turnover", "step", "due", "this month", "trued up"]);
    for one in last {
        let money = |minor| amount(minor, done.currency);
        let of = if one.month.year() == one.year { String::new() } else { format!(" of {}", one.year) };
        table.row([
            (&*one.partner).into(),
            format!("{}{of}", one.month).into(),
            money(one.turnover_minor).into(),
            format!("{}{SPACE}%", one.percent).into(),
            Cell::styled(money(one.due_minor), style::STRONG),
            money(one.movement_minor).into(),
            money(one.true_up_minor).into(),
        ]);
        let next = one.next.map_or_else(
            || String::from("no further step"),
            |next| {
                let (missing, from) = (money(next.missing_minor), money(next.from_minor));
                format!("{missing} more reach {}{SPACE}% from {from}", next.percent)
            },
        );
        table.across(2, Cell::styled(next, style::FAINT));
    }
    page.table(&table);
}
