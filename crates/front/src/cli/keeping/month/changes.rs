//! What changed under closed months, for people.

use evenfare_engine::money::Overflow;
use evenfare_reconcile::change::Change;
use evenfare_reconcile::changed::{Altered, How};

use crate::cli::text::money::with_currency;
use crate::cli::text::wrap::cut;
use crate::cli::text::{Cell, Column, Page, Table, style};
use crate::month::Done;

/// A document or a name may be so long.
const LONGEST: usize = 44;

/// By how it changed, each with what it was, what it is and by how much; and accounts that have other numbers.
pub(super) fn table(page: &mut Page, done: &Done) -> Result<(), Overflow> {
    let changes = done.changes();
    let renumbered = done.books.charts.renumbered();
    if changes.is_empty() && renumbered.is_empty() {
        return Ok(());
    }
    page.heading("Changed since closed", "what closed months have, and what is known now");
    let right = Column::RIGHT;
    let mut table = Table::new(0, [Column::TEXT.least(12), right, right, right]);
    for alike in changes.chunk_by(|a, b| a.how == b.how) {
        let Some(how) = alike.first().map(|first| first.how) else { continue };
        table.across(0, Cell::styled(format!("{}: {}", how.word(), said(how)), style::CARE));
        table.all(style::FAINT, ["", "was", "is", "by"]);
        for one in alike {
            change(&mut table, done, one)?;
        }
    }
    page.table(&table);
    for (month, role, was, is) in renumbered {
        let text = format!(
            "{}: {month} was closed with account {was}, chart.csv has {is} now; closed months keep theirs.",
            role.text()
        );
        page.paragraph(0, style::CARE, &text);
    }
    Ok(())
}

fn change(table: &mut Table, done: &Done, one: &Change<'_>) -> Result<(), Overflow> {
    let party = one.party.map(|party| format!(", {}", cut(done.called(party), LONGEST)));
    let what = one.what.word().replace('_', " ");
    let number = cut(one.number, LONGEST);
    table.across(0, format!("{} {what} {number}{}", one.day, party.unwrap_or_default()));
    let counts = format!("of {}, which is closed; counts for {}", one.closed, one.posted);
    table.across(2, Cell::styled(counts, style::FAINT));
    for part in &one.parts {
        let shown = |minor| Cell::from(with_currency(minor, part.currency));
        let by = Cell::styled(with_currency(part.by_minor()?, part.currency), style::STRONG);
        let name = format!("  {}", part.of.word().replace('_', " "));
        table.row([name.into(), shown(part.was_minor), shown(part.is_minor), by]);
    }
    for Altered { what, was, is } in &*one.altered {
        let said = |text: &str| if text.is_empty() { String::from("nothing") } else { cut(text, LONGEST) };
        table.across(2, format!("{}: was {}, is {}", what.replace('_', " "), said(was), said(is)));
    }
    Ok(())
}

/// How something changed, in words.
const fn said(how: How) -> &'static str {
    match how {
        How::Gone => "the paper is there no more",
        How::Different => "the paper does not say what it said",
        How::Late => "a paper of a closed month that was not there yet",
        How::Follows => "no paper of its own changed, but what it is for, or what it rests on",
    }
}
