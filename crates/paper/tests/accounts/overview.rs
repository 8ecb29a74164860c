//! What the overview tells beside margins: what was invoiced, and what changed under closed months.

use std::io::Cursor;

use calamine::{Data, Reader, Xlsx};
use evenfare_engine::language::Language;
use evenfare_paper::accounts::MarginOverview;
use evenfare_paper::sheet::{Block, margin_overview};
use evenfare_paper::words::Words;
use evenfare_paper::{figures, workbook};
use evenfare_reconcile::chart::{Chart, Role};
use evenfare_reconcile::{Inputs, reconcile};
use proptest::prelude::*;
use proptest::sample::Index;

use crate::books::{Books, month};
use crate::faults::{self, some_faults};
use crate::looks::late;
use crate::ties::typed;
use crate::world::day;

/// Rows of all tables below a heading, up to the next one.
fn below(given: &MarginOverview<'_>, id: &str) -> Vec<Vec<String>> {
    let heading = Words::of(given.language).say(id);
    let sheet = margin_overview(given).unwrap();
    let is_heading = |block: &&Block| matches!(block, Block::Heading { .. });
    let section =
        sheet.blocks.iter().skip_while(|block| !matches!(block, Block::Heading { text } if *text == heading));
    let tables = section.skip(1).take_while(|block| !is_heading(block)).filter_map(|block| match block {
        Block::Table { groups, totals, .. } => {
            Some(groups.iter().flat_map(|group| &group.rows).chain(totals))
        }
        _ => None,
    });
    tables.flatten().map(|row| row.cells.clone()).collect()
}

/// This many rows at the end of a sheet of the book; nothing where there is no such sheet.
fn last_rows(given: &MarginOverview<'_>, id: &str, count: usize) -> Vec<Vec<Data>> {
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(workbook::margin_overview(given).unwrap())).unwrap();
    let Ok(page) = book.worksheet_range(&Words::of(given.language).say(id)) else { return Vec::new() };
    let rows: Vec<Vec<Data>> = page.rows().map(<[Data]>::to_vec).collect();
    rows[rows.len() - count..].to_vec()
}

/// Sheet and book tell each change, and what was invoiced is the revenue of the journal.
fn check(inputs: &Inputs, language: Language) -> usize {
    let books = Books::of(inputs);
    let journal = books.reconciled.journal.transactions().flat_map(|(_, postings)| postings);
    let revenue: i64 =
        journal.filter(|posting| posting.role == Role::Revenue).map(|posting| posting.base_minor).sum();
    books.with_overview(&books.reconciled.overview, language, |given| {
        let words = Words::of(language);
        let rows = below(given, "invoiced");
        let amount = |minor: i64| figures::amount(language, minor, given.currency);
        if let Some((all, months)) = rows.split_last() {
            assert_eq!(all[2], amount(-revenue), "what was invoiced is the revenue");
            assert_eq!(months.len(), given.overview.months().count());
            let in_book = last_rows(given, "invoiced", rows.len());
            for (sheet, book) in rows.iter().zip(&in_book) {
                assert_eq!(sheet[0], book[0].to_string());
                let [agreed, invoiced, by] = [1, 2, 3].map(|place| typed(book.get(place), given.currency));
                assert_eq!(invoiced - agreed, by);
                assert_eq!(sheet[1..], [agreed, invoiced, by].map(amount));
            }
        }
        let parts: Vec<_> =
            given.changes.iter().flat_map(|one| one.parts.iter().map(move |part| (one, part))).collect();
        let money = |minor: i64, currency| figures::money(language, minor, currency);
        let told: Vec<Vec<String>> = parts
            .iter()
            .map(|(_, part)| {
                let amounts = [part.was_minor, part.is_minor, part.is_minor - part.was_minor];
                let amounts = amounts.map(|minor| money(minor, part.currency));
                std::iter::once(words.amount_of(part.of)).chain(amounts).collect()
            })
            .collect();
        assert_eq!(below(given, "changed-since"), told);
        let in_book = last_rows(given, "changed-since", parts.len());
        for ((one, part), row) in parts.iter().zip(&in_book) {
            assert_eq!(row[4].to_string(), words.changed(one));
            assert_eq!(row[6].to_string(), words.amount_of(part.of));
            let amounts = [7, 8, 9].map(|place| typed(row.get(place), part.currency));
            assert_eq!(amounts, [part.was_minor, part.is_minor, part.is_minor - part.was_minor]);
        }
        parts.len()
    })
}

/// Books take long to write and to read: of ten cases that are asked for, one.
fn config() -> ProptestConfig {
    let all = ProptestConfig::default();
    ProptestConfig { failure_persistence: None, cases: all.cases / 10, ..all }
}

proptest! {
    #![proptest_config(config())]

    /// June is closed before one of its papers was there, or with one that is there no more.
    #[test]
    fn what_changed_and_was_invoiced_is_on_the_overview(
        (plans, faults) in some_faults(),
        other in any::<Index>(),
        is_late in any::<bool>(),
        language in prop::sample::select(Language::ALL.to_vec()),
    ) {
        let all = faults::month(&plans, &faults).inputs;
        let mut fewer = all.clone();
        if !fewer.invoices.is_empty() {
            fewer.invoices.remove(other.index(all.invoices.len()));
        }
        let (mut early, mut now) = if is_late { (fewer, all) } else { (all, fewer) };
        early.terms.until = day(29);
        if let Ok(closing) = reconcile(&early).unwrap().close(month("2026-06")) {
            now.closings = vec![closing];
        }
        check(&now, language);
    }
}

#[test]
fn a_late_invoice_is_told_in_every_language() {
    for &language in Language::ALL {
        assert!(check(&late(), language) > 0);
    }
}

#[test]
fn an_account_with_another_number_is_told() {
    let mut inputs = late();
    let mut early = inputs.clone();
    early.closings.clear();
    early.terms.until = day(29);
    early.chart = Chart::new([(Role::Revenue, "8400".into())]);
    inputs.closings = vec![reconcile(&early).unwrap().close(month("2026-06")).unwrap()];
    inputs.chart = Chart::new([(Role::Revenue, "4400".into())]);
    let books = Books::of(&inputs);
    books.with_overview(&books.reconciled.overview, Language::English, |given| {
        let sheet = margin_overview(given).unwrap();
        let said = sheet.blocks.iter().any(|block| matches!(block, Block::Text { text, .. }
            if text.starts_with("Revenue from repairs: June\u{a0}2026 was closed with account 8400; it is 4400 now.")));
        assert!(said, "{:?}", sheet.blocks.last());
        assert!(workbook::margin_overview(given).is_ok());
    });
}
