//! What stands in a column comes to what stands below it, and net and VAT to what is to be paid.

use evenfare_engine::language::Language;
use evenfare_paper::figures;
use evenfare_paper::sheet::{Block, Column, Row, Rows, Sheet, Tone};
use evenfare_paper::words::Words;

use crate::world::{Kind, partner_sheet, quote, seen, stationery};

/// Every sheet that says amounts, of every demo job and of its opposite entry.
fn sheets() -> Vec<(String, Sheet)> {
    let (stationery, language) = (stationery(), Language::English);
    let mut sheets = Vec::new();
    for number in 1..=12 {
        let Some(quote) = quote(number) else { continue };
        let back = quote.reversed().unwrap();
        let mut add = |name: &str, of: &str, sheet| sheets.push((format!("{name}, {of}job {number}"), sheet));
        for (of, quote) in [("", &quote), ("opposite of ", &back)] {
            for kind in [Kind::Quote, Kind::Office] {
                add(kind.name(), of, kind.sheet(quote, &stationery, language).unwrap());
            }
            for party in &quote.route {
                add(party.code.as_str(), of, partner_sheet(quote, &stationery, language, &party.code));
            }
        }
        for kind in [Kind::Invoice, Kind::CreditNote] {
            add(kind.name(), "", kind.sheet(&quote, &stationery, language).unwrap());
        }
    }
    sheets
}

/// A table.
struct Table<'a> {
    columns: &'a [Column],
    groups: &'a [Rows],
    totals: &'a [Row],
}

fn tables(sheet: &Sheet) -> impl Iterator<Item = Table<'_>> {
    sheet.blocks.iter().filter_map(|block| match block {
        Block::Table { columns, groups, totals } => Some(Table { columns, groups, totals }),
        _ => None,
    })
}

impl<'a> Table<'a> {
    fn rows(&self) -> impl Iterator<Item = &'a Row> + use<'a> {
        self.groups.iter().flat_map(|group| &group.rows)
    }

    /// The column of those words, whatever its currency.
    fn headed(&self, words: &str) -> Option<usize> {
        self.columns.iter().position(|column| column.head.split('\u{a0}').next() == Some(words))
    }

    /// Columns that come to something.
    fn added(&self) -> Vec<usize> {
        let Some(first) = self.totals.first() else { return Vec::new() };
        (1..first.cells.len()).filter(|place| !first.cells[*place].is_empty()).collect()
    }
}

/// An amount of English, in minor units: it has all decimals of its currency.
fn minor(cell: &str) -> i64 {
    let plain = cell.replace([',', '.'], "").replace('\u{2212}', "-");
    plain.parse().unwrap_or_else(|_| panic!("`{cell}` is no amount"))
}

/// What a column comes to; where nothing is said, there is nothing.
fn sum<'a>(rows: impl IntoIterator<Item = &'a Row>, place: usize) -> i64 {
    let cells = rows.into_iter().map(|row| row.cells[place].as_str());
    cells.filter(|cell| !matches!(*cell, "" | "–")).map(minor).sum()
}

#[test]
fn lines_come_to_their_total() {
    let mut added = 0;
    for (name, sheet) in sheets() {
        for table in tables(&sheet) {
            for place in table.added() {
                let head = &table.columns[place].head;
                let lines = sum(table.rows(), place);
                assert_eq!(lines, minor(&table.totals[0].cells[place]), "{name}: {head}");
                added += 1;
            }
        }
    }
    assert!(added > 100, "{added} columns");
}

#[test]
fn net_and_vat_come_to_gross() {
    let (mut prices, mut rows) = (0, 0);
    for (name, sheet) in sheets() {
        // Net and VAT of prices that are still to be broken down.
        let mut open: Vec<(i64, i64)> = Vec::new();
        let before = prices;
        for table in tables(&sheet) {
            if let [net, vat @ .., gross] = table.totals {
                assert!(open.is_empty(), "{name}: a price without its VAT");
                for place in table.added() {
                    let (net, tax) = (minor(&net.cells[place]), sum(vat, place));
                    assert!(vat.iter().any(|row| !row.cells[place].is_empty()), "{name}: no row of VAT");
                    assert_eq!(
                        net + tax,
                        minor(&gross.cells[place]),
                        "{name}: {}",
                        table.columns[place].head
                    );
                    open.push((net, tax));
                    prices += 1;
                }
            }
            if let Some(base) = table.headed("Taxable amount") {
                let tax = table.headed("VAT amount").unwrap();
                for group in table.groups {
                    let of = |place| sum(&group.rows, place);
                    assert!(!open.is_empty(), "{name}: VAT of no price");
                    assert_eq!((of(base), of(tax)), open.remove(0), "{name}: {:?}", group.head);
                }
            }
            if let Some((net, gross)) = table.headed("Net").zip(table.headed("Gross")) {
                let tax = table.headed("VAT amount").or_else(|| table.headed("VAT")).unwrap();
                for row in table.rows() {
                    let [net, tax, gross] = [net, tax, gross].map(|place| minor(&row.cells[place]));
                    assert_eq!(net + tax, gross, "{name}: {:?}", row.cells);
                    rows += 1;
                }
            }
        }
        assert!(open.is_empty(), "{name}: a price without its VAT");
        assert!(prices > before || name.starts_with("office"), "{name}: no price");
    }
    assert!(prices > 60 && rows > 30, "{prices} prices, {rows} sales");
}

/// A leg that a partner carries is told to the office, and is no cost of the workshop.
#[test]
fn the_office_reads_what_the_workshop_spends() {
    let (stationery, language) = (stationery(), Language::English);
    let mut carried = 0;
    for number in 1..=12 {
        let Some(quote) = quote(number) else { continue };
        let sheet = Kind::Office.sheet(&quote, &stationery, language).unwrap();
        let prices: Vec<Table<'_>> = tables(&sheet).filter(|table| table.headed("Cost").is_some()).collect();
        assert_eq!(prices.len(), quote.offers.len(), "job {number}");
        for (offer, table) in quote.offers.iter().zip(prices) {
            let (cost, net) = (table.headed("Cost").unwrap(), table.headed("Net").unwrap());
            let [total] = table.totals else { panic!("job {number}: {} totals", table.totals.len()) };
            assert_eq!(total.cells[0], "Total");
            let [spent, end] = [cost, net].map(|place| minor(&total.cells[place]));
            assert_eq!((spent, end), (offer.cost.minor(), offer.end.net.minor()), "job {number}");

            let dashes = table.rows().filter(|row| row.cells[cost] == "–");
            let mut told: Vec<String> = dashes.map(|row| row.note.clone().unwrap()).collect();
            let elsewhere = offer.costs.iter().filter(|cost| cost.carried_by_partner);
            let mut expected: Vec<String> = elsewhere
                .map(|cost| figures::money(language, cost.cost.minor(), quote.currency))
                .map(|amount| format!("{amount} carried by a partner"))
                .collect();
            told.sort();
            expected.sort();
            assert_eq!(told, expected, "job {number}");
            carried += told.len();
        }
    }
    assert!(carried > 1, "{carried} lines");
}

/// What a block is, a heading by its words.
fn named(block: &Block) -> String {
    match block {
        Block::Heading { text } | Block::Subheading { text } => text.clone(),
        Block::Table { .. } => "a table".to_owned(),
        Block::Text { text, tone: Tone::Quiet } => text.clone(),
        Block::Text { .. } => "a text".to_owned(),
        _ => "another".to_owned(),
    }
}

#[test]
fn every_way_to_do_a_job_is_priced_in_full() {
    let stationery = stationery();
    let mut alternatives = 0;
    for number in 1..=12 {
        let Some(quote) = quote(number) else { continue };
        for quote in [quote.clone(), quote.reversed().unwrap()] {
            let view = seen(&quote, "customer");
            let sheet = Kind::Quote.sheet(&quote, &stationery, Language::English).unwrap();
            let mut parts: Vec<Vec<String>> = Vec::new();
            let mut is_open = false;
            let mut blocks = sheet.blocks.iter();
            while let Some(block) = blocks.next() {
                let name = named(block);
                match (block, name.as_str()) {
                    // Not of every way there is something to note.
                    (_, "Notes") => {
                        blocks.next();
                        continue;
                    }
                    (_, "Price") => {
                        parts.push(Vec::new());
                        is_open = true;
                    }
                    // Of units of one warranty it is a sentence, else a list.
                    (_, "Warranty") => {
                        blocks.next();
                    }
                    (Block::Heading { .. }, _) => is_open = false,
                    _ => {}
                }
                if is_open {
                    parts.last_mut().unwrap().push(name);
                }
            }
            assert_eq!(parts.len(), 1 + view.alternatives.len(), "job {number}");
            let note = Words::of(Language::English).say("vat-note");
            let said = |part: &Vec<String>| part.iter().filter(|name| **name == note).count();
            // Of all ways to do the job it is said once.
            assert_eq!(parts.iter().map(said).sum::<usize>(), 1, "job {number}");
            assert_eq!(said(&parts[0]), 1, "job {number}");
            parts.iter_mut().for_each(|part| part.retain(|name| *name != note));
            let main = &parts[0];
            assert!(main.starts_with(&["Price", "a table", "VAT breakdown", "a table"].map(String::from)));
            assert_eq!(main.iter().any(|name| name == "Warranty"), !view.reversal, "job {number}");
            for part in &parts[1..] {
                assert_eq!(part, main, "job {number}");
                alternatives += 1;
            }
        }
    }
    assert!(alternatives > 4, "{alternatives} alternatives");
}
