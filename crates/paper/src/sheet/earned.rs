//! The volume bonus, on an account statement.

use super::pen::Pen;
use super::{Block, Column, Row, Rows, Width};
use crate::accounts::{AccountStatement, BonusPart};

/// The bonuses of the month, each as a table: turnover and step, what is due, and how far the next step is.
pub(super) fn earned(pen: &Pen<'_, AccountStatement<'_>>, into: &mut Vec<Block>) {
    for &one in pen.given.bonuses {
        let rows = pen.given.bonus(one).into_iter().map(|(name, part)| {
            let value = match part {
                BonusPart::Minor(minor) => pen.amount(minor),
                BonusPart::Percent(percent) => pen.percent(&percent.to_string()),
            };
            Row::of([name, value])
        });
        let heading = pen.given.bonus_heading(one);
        into.push(Block::Table {
            columns: vec![
                Column { head: heading, width: Width::Wide },
                Column { head: pen.currency.code().to_owned(), width: Width::Amount },
            ],
            groups: vec![Rows { head: None, rows: rows.collect() }],
            totals: Vec::new(),
        });
    }
}
