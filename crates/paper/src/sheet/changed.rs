//! What changed under closed months, as the accountant is told it.

use evenfare_engine::money::Overflow;
use evenfare_reconcile::change::{Change, Part};

use super::pen::Pen;
use super::{Block, Row, Rows, Tone, Width};
use crate::accounts::MarginOverview;
use crate::figures;

type Overviewer<'a> = Pen<'a, MarginOverview<'a>>;

/// By how it changed, each with what it was, what it is and by how much; and accounts that have other numbers.
pub(super) fn changed(pen: &Overviewer<'_>, into: &mut Vec<Block>) -> Result<(), Overflow> {
    let (changes, renumbered) = (pen.given.changes, pen.given.renumbered);
    if changes.is_empty() && renumbered.is_empty() {
        return Ok(());
    }
    into.push(pen.heading("changed-since"));
    if !changes.is_empty() {
        into.push(Block::Text { text: pen.say("changed-note"), tone: Tone::Quiet });
    }
    for alike in changes.chunk_by(|a, b| a.how == b.how) {
        into.extend(alike.first().map(|first| Block::Subheading { text: pen.words.how(first.how) }));
        let groups = alike.iter().map(|one| group(pen, one)).collect::<Result<_, _>>()?;
        into.push(Block::Table {
            columns: vec![
                pen.column("amount-of", Width::Wide),
                pen.column("was", Width::Amount),
                pen.column("is-now", Width::Amount),
                pen.column("changed-by", Width::Amount),
            ],
            groups,
            totals: Vec::new(),
        });
    }
    into.extend(pen.given.renumbered().map(|text| Block::Text { text, tone: Tone::Plain }));
    Ok(())
}

/// Which paper, whose, of when; below it each amount.
fn group(pen: &Overviewer<'_>, one: &Change<'_>) -> Result<Rows, Overflow> {
    let party = one.party.map(|party| pen.given.party(party).to_owned());
    let (closed, posted) = (figures::month(pen.language, one.closed), pen.date(one.posted));
    let counts = pen.say_with("changed-of", &[("closed", (&closed).into()), ("date", (&posted).into())]);
    let head = [pen.words.changed(one)].into_iter().chain(party).chain([pen.date(one.day), counts]);
    let rows = one.parts.iter().map(|part| row(pen, part)).collect::<Result<_, _>>()?;
    Ok(Rows { head: Some(head.collect::<Vec<_>>().join(" · ")), rows })
}

/// Amounts of one change may be of several currencies.
fn row(pen: &Overviewer<'_>, part: &Part) -> Result<Row, Overflow> {
    let amount = |minor| pen.money_in(minor, part.currency);
    Ok(Row::of([
        pen.words.amount_of(part.of),
        amount(part.was_minor),
        amount(part.is_minor),
        amount(part.by_minor()?),
    ]))
}
