//! What Directive 2006/112/EC Art. 226 and 230 want on invoices.

use std::collections::{BTreeMap, BTreeSet};

use evenfare_engine::job::Task;
use evenfare_engine::language::Language;
use evenfare_engine::money::Vat;
use evenfare_engine::national::NationalVat;
use evenfare_engine::view::View;
use evenfare_paper::pdf::set;
use evenfare_paper::sheet::{self, Block, Rows, Sheet};
use evenfare_paper::{Invoice, InvoiceFacts, Sold};

use crate::pages::{runs, text};
use crate::world::{Kind, facts, given, quote, seen, stationery};

fn billed(view: &View, facts: &InvoiceFacts, language: Language) -> Sheet {
    of_offer(view, "main", facts, language)
}

fn of_offer(view: &View, offer: &str, facts: &InvoiceFacts, language: Language) -> Sheet {
    let stationery = stationery();
    let sold = Sold::by(view, offer, "workshop").unwrap();
    let invoice = Invoice { sold, facts };
    let sheet = if view.reversal { sheet::credit_note } else { sheet::invoice };
    sheet(&given(view, &stationery, language), &invoice).unwrap()
}

/// The columns and rows of the first table: its lines.
fn lines(sheet: &Sheet) -> (Vec<&str>, &[Rows]) {
    let mut tables = sheet.blocks.iter().filter_map(|block| match block {
        Block::Table { columns, groups, .. } => Some((columns, groups)),
        _ => None,
    });
    let (columns, groups) = tables.next().unwrap();
    (columns.iter().map(|column| column.head.as_str()).collect(), groups)
}

fn texts(sheet: &Sheet) -> Vec<&str> {
    let texts = sheet.blocks.iter().filter_map(|block| match block {
        Block::Text { text, .. } => Some(text.as_str()),
        _ => None,
    });
    texts.collect()
}

/// A decimal number of English in ten thousandths.
fn ten_thousandths(text: &str) -> i64 {
    let plain = text.replace(',', "").replace('\u{2212}', "-");
    let (whole, decimals) = plain.split_once('.').unwrap_or((&plain, ""));
    format!("{whole}{decimals:0<4}").parse().unwrap()
}

#[test]
fn the_price_of_one_times_the_quantity_is_the_net() {
    let (mut exact, mut of_all) = (0, 0);
    for number in 1..=12 {
        let Some(quote) = quote(number) else { continue };
        for view in [seen(&quote, "office"), seen(&quote.reversed().unwrap(), "office")] {
            let sheet = billed(&view, &facts(&view), Language::English);
            let (columns, groups) = lines(&sheet);
            let of_price = columns.iter().position(|head| head.starts_with("Unit price")).unwrap();
            for row in groups.iter().flat_map(|group| &group.rows) {
                let (quantity, price) = (&row.cells[1], &row.cells[of_price]);
                let net = ten_thousandths(row.cells.last().unwrap());
                match price.split_once(" per ") {
                    Some((price, of)) => {
                        of_all += 1;
                        assert_eq!((ten_thousandths(price), of), (net, quantity.as_str()), "job {number}");
                    }
                    None => {
                        exact += 1;
                        let count = quantity.split('\u{a0}').next().filter(|count| !count.is_empty());
                        let count = count.map_or(10_000, ten_thousandths);
                        assert_eq!(
                            ten_thousandths(price) * count,
                            net * 10_000,
                            "job {number}: {:?}",
                            row.cells
                        );
                    }
                }
            }
        }
    }
    assert!(exact > 100 && of_all > 20, "{exact} {of_all}");
}

/// The last digit of `4.0575` stood below that of `17.39`.
#[test]
fn decimals_stand_below_each_other() {
    let sheet = Kind::Invoice.sheet(&quote(2).unwrap(), &stationery(), Language::English).unwrap();
    let runs = runs(&set(&sheet, &[]).unwrap());
    let (columns, groups) = lines(&sheet);
    let of_price = columns.iter().position(|head| head.starts_with("Unit price")).unwrap();
    // By the number of decimals, where they end, in tenths of a point.
    let mut ends: BTreeMap<usize, BTreeSet<i64>> = BTreeMap::new();
    for cell in groups.iter().flat_map(|group| &group.rows).map(|row| row.cells[of_price].as_str()) {
        let Some((_, decimals)) = cell.split_once('.').filter(|_| !cell.contains(' ')) else { continue };
        let found: Vec<_> = runs.iter().filter(|run| run.text == cell).collect();
        // What the next column says as well is anywhere.
        if let [run] = found[..] {
            let end = ((run.at.x + run.width).to_pt() * 10.0).round() as i64;
            ends.entry(decimals.len()).or_default().insert(end);
        }
    }
    assert!(ends.len() > 1 && ends.values().all(|ends| ends.len() == 1), "{ends:?}");
    let ends: Vec<i64> = ends.into_values().flatten().collect();
    assert!(ends.windows(2).all(|pair| pair[0] < pair[1]), "{ends:?}");
}

#[test]
fn a_sale_of_several_categories_says_that_of_each_line() {
    let (mut mixed, mut single) = (0, 0);
    for number in 1..=12 {
        let Some(quote) = quote(number) else { continue };
        let view = seen(&quote, "office");
        for offer in view.offers() {
            let sheet = of_offer(&view, &offer.offer, &facts(&view), Language::English);
            let (columns, groups) = lines(&sheet);
            let sold = Sold::by(&view, &offer.offer, "workshop").unwrap();
            let Some(of_category) = columns.iter().position(|head| *head == "Category") else {
                assert_eq!(sold.sale.vat.len(), 1);
                single += 1;
                continue;
            };
            mixed += 1;
            for group in &sold.sale.vat {
                let rows = groups.iter().flat_map(|group| &group.rows);
                let of_group = rows.filter(|row| row.cells[of_category] == group.category.code());
                let sum: i64 = of_group.map(|row| ten_thousandths(row.cells.last().unwrap())).sum();
                assert_eq!(sum, group.base_minor * 100, "job {number}, category {}", group.category.code());
            }
        }
    }
    assert!(mixed > 0 && single > 0, "{mixed} mixed, {single} of one category");
}

#[test]
fn an_exchange_names_what_is_supplied() {
    let mut view = seen(&quote(12).unwrap(), "office");
    let facts = facts(&view);
    let heads = |view: &View, language| -> Vec<String> {
        let sheet = billed(view, &facts, language);
        let heads = lines(&sheet).1.iter().filter_map(|group| group.head.as_ref());
        heads.map(|head| head.replace('\u{a0}', " ")).collect()
    };
    let family = "Spiral mixer controller, four drive channels";
    assert_eq!(heads(&view, Language::English)[0], format!("U1 · {family} · Serial number MS4-15-00902"));
    view.main.units[0].task = Task::Exchange;
    assert_eq!(
        heads(&view, Language::English)[0],
        format!("U1 · Exchange unit: {family}, in exchange for serial number MS4-15-00902")
    );
    view.main.units[0].serial = "".parse().unwrap();
    assert_eq!(heads(&view, Language::English)[0], format!("U1 · Exchange unit · {family}"));
    assert_eq!(heads(&view, Language::Polish)[0], format!("U1 · Urządzenie wymienne · {family}"));
}

/// Art. 226(3) to (5): name, address and identifier of both. They stood there twice.
#[test]
fn seller_and_buyer_are_told_once() {
    for number in [1, 2] {
        let quote = quote(number).unwrap();
        let workshop = &quote.workshop;
        let first = quote.route.first().unwrap_or(&quote.customer);
        let last = quote.route.last().unwrap_or(workshop);
        for (kind, seller, buyer) in [
            (Kind::Quote, last, &quote.customer),
            (Kind::Invoice, workshop, first),
            (Kind::CreditNote, workshop, first),
        ] {
            let sheet = kind.sheet(&quote, &stationery(), Language::English).unwrap();
            let said = text(&set(&sheet, &[]).unwrap());
            for party in [seller, buyer] {
                let name = format!("{} of job {number}, {}", kind.name(), party.name);
                let id = party.vat_id.as_ref().unwrap().to_string();
                assert_eq!(said.matches(&id).count(), 1, "{name}");
                for line in [&party.name, &party.street, &party.city] {
                    assert!(said.contains(line.as_str()), "{name}: {line}");
                }
            }
        }
    }
}

#[test]
fn a_day_of_supply_that_is_to_come_is_a_plan() {
    let view = seen(&quote(1).unwrap(), "office");
    let named = |issued| {
        let facts = InvoiceFacts { issued, due: None, ..facts(&view) };
        let sheet = billed(&view, &facts, Language::English);
        let names = ["Date of supply", "Dispatch planned for", "Tax date"];
        names.map(|name| sheet.facts.iter().find(|fact| fact.name == name).map(|fact| fact.value.clone()))
    };
    let [supplied, planned, tax_date] = named(view.dispatch);
    assert!(supplied.is_some() && planned.is_none() && tax_date.is_some());
    let [before, plan, chargeable] = named(view.dispatch.pred_opt().unwrap());
    assert!(before.is_none() && plan == supplied && chargeable.is_none());
}

#[test]
fn vat_in_another_currency_is_told_with_its_rate() {
    let quote = quote(1).unwrap();
    let told = |view: &View, minor: i64| {
        let national_vat = Some(NationalVat {
            currency: "CZK".parse().unwrap(),
            tax: Vat::from_minor(minor).unwrap(),
            rates: vec![("CZK".parse().unwrap(), "24.315".parse().unwrap(), view.received)],
        });
        let sheet = billed(view, &InvoiceFacts { national_vat, ..facts(view) }, Language::English);
        let texts = texts(&sheet);
        texts.iter().find(|text| text.contains("CZK")).map(|text| text.replace('\u{a0}', " "))
    };
    let [view, back] = [quote.clone(), quote.reversed().unwrap()].map(|quote| seen(&quote, "office"));
    let expected = "VAT in the currency of the seller’s country: CZK 1,234.56 (EUR 1 = 24.315 CZK on ";
    // A credit note says what it credits.
    for told in [told(&view, 123_456), told(&back, -123_456)] {
        assert!(told.as_deref().unwrap().starts_with(expected), "{told:?}");
    }
    let sheet = billed(&view, &facts(&view), Language::English);
    assert!(!texts(&sheet).iter().any(|text| text.contains("seller’s country")));
}
