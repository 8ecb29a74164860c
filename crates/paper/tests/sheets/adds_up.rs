//! What stands in a column comes to what stands below it, and net and VAT to what is to be paid.

use evenfare_engine::language::Language;
use evenfare_paper::figures;
use evenfare_paper::sheet::{Column, Row, Sheet};

use crate::tables::{Table, minor, tables};
use crate::world::{Kind, partner_sheet, quote, quote_of, stationery};

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
    let (mut prices, mut rows, mut broken_down) = (0, 0, 0);
    for (name, sheet) in sheets() {
        // Net and VAT of prices that are still to be broken down.
        let mut open: Vec<(i64, i64)> = Vec::new();
        let before = prices;
        for table in tables(&sheet) {
            if let [net, vat @ .., gross] = table.totals {
                assert!(open.is_empty(), "{name}: a price without its VAT");
                for place in table.added() {
                    let Column { head, .. } = &table.columns[place];
                    let (net, tax) = (minor(&net.cells[place]), sum(vat, place));
                    assert_eq!(net + tax, minor(&gross.cells[place]), "{name}: {head}");
                    let groups = vat.iter().filter(|row| !row.cells[place].is_empty()).count();
                    assert!(groups > 0, "{name}: no row of VAT");
                    // Of one category and rate that is all there is to say; what was quoted was broken down before.
                    if groups > 1 && !head.starts_with("As quoted") {
                        open.push((net, tax));
                        broken_down += 1;
                    }
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
    assert!(
        prices > 60 && rows > 30 && broken_down > 1,
        "{prices} prices, {rows} sales, {broken_down} of several categories"
    );
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

/// 8 ml in one row and 4 ml in another read as 12, which the bench would take and nobody is charged.
#[test]
fn a_part_of_two_rows_says_how_much_it_is_in_all() {
    let stationery = stationery();
    for (number, part, in_all) in [
        (2, "Heat-conducting paste", "8 ml in all"),
        (7, "Fuse 2 A slow, 5 × 20 mm", "2 pcs in all"),
        (12, "Filter mat for fan 60 mm", "1 pc in all"),
    ] {
        let quote = match number {
            7 => quote_of(7, |job| {
                // At a fixed price, where no line charges parts.
                let finding = job.units[0].findings.last_mut().unwrap();
                finding.code = "FUSE-BLOWN".parse().unwrap();
                finding.position = Some("F1".parse().unwrap());
            })
            .unwrap(),
            number => quote(number).unwrap(),
        };
        for kind in [Kind::Quote, Kind::Bench] {
            let sheet = kind.sheet(&quote, &stationery, Language::English).unwrap();
            let of_it = tables(&sheet)
                .filter(|table| table.headed("Position").is_some())
                .flat_map(|table| table.rows())
                .filter(|row| row.cells.iter().any(|cell| cell == part));
            let notes: Vec<&str> = of_it.map(|row| row.note.as_deref().unwrap_or_default()).collect();
            let is_told = |note: &&str| note.replace('\u{a0}', " ").ends_with(in_all);
            assert_eq!(notes.iter().filter(|note| is_told(note)).count(), 2, "{}: {notes:?}", kind.name());
        }
    }
}
