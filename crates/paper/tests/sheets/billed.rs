//! What Directive 2006/112/EC Art. 226 and 230 want on invoices.

use evenfare_engine::job::Task;
use evenfare_engine::language::Language;
use evenfare_engine::money::Vat;
use evenfare_engine::national::NationalVat;
use evenfare_engine::view::View;
use evenfare_paper::sheet::{self, Block, Rows, Sheet};
use evenfare_paper::{Invoice, InvoiceFacts, Sold};

use crate::world::{facts, given, quote, seen, stationery};

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

#[test]
fn a_sale_of_several_categories_says_that_of_each_line() {
    let (mut mixed, mut single) = (0, 0);
    for number in 1..=12 {
        let Some(quote) = quote(number) else { continue };
        let view = seen(&quote, "office");
        for offer in std::iter::once(&view.main).chain(&view.alternatives) {
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
