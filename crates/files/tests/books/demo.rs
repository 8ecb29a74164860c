//! The books of the demo world say what their README says.

use std::path::Path;

use evenfare_engine::quote;
use evenfare_files::{answered_in, answers, parse_books, read_books, read_job, read_tariff};
use evenfare_reconcile::agreed::Agreed;
use evenfare_reconcile::chart::Role;
use evenfare_reconcile::firm::Firms;
use evenfare_reconcile::input::Invoice;
use evenfare_reconcile::{Inputs, reconcile};

use crate::day_of;
use crate::world::invoice;

/// The rows of the tables in the README, those whose first cell begins so.
fn rows<'r>(readme: &'r str, begin: &str) -> Vec<Vec<&'r str>> {
    let rows = readme.lines().map(|line| line.trim_matches('|').split('|').map(str::trim).collect());
    rows.filter(|cells: &Vec<&str>| cells.len() > 3 && cells[0].starts_with(begin)).collect()
}

/// What the store is taken to hold: what was accepted, and our invoices.
fn store(bakery: &Path, readme: &str) -> (Vec<Agreed>, Vec<Invoice>) {
    let tariffs = read_tariff(&bakery.join("tariff")).unwrap();
    let jobs = std::fs::read_dir(bakery.join("jobs")).unwrap().map(|entry| entry.unwrap().path());
    let mut jobs: Vec<_> = jobs.collect();
    jobs.sort();
    let mut firms = Firms::default();
    let mut agreed = Vec::new();
    // By year and in the order of the files, those that are quoted at all.
    let mut last = std::collections::BTreeMap::new();
    let mut told = rows(readme, "Q-20").into_iter();
    for path in jobs {
        let (job, _) = read_job(&path).unwrap();
        let Ok(quote) = quote(&job, tariffs.on(job.received).unwrap()) else { continue };
        let (year, name) =
            (quote.quoted.format("%Y").to_string(), path.file_stem().unwrap().to_str().unwrap());
        let number = last.entry(year.clone()).and_modify(|last| *last += 1).or_insert(1);
        let number = format!("Q-{year}-{number:05}");
        let row = told.next().unwrap();
        assert_eq!((row[0], row[1].replacen(' ', "-", 1)), (&*number, name.to_owned()));
        if row[2] != "no" {
            let accepted = day_of(row[2]);
            assert!(quote.quoted <= accepted && accepted <= quote.valid_until);
            agreed.push(Agreed::new(&number, &quote, row[3], accepted, &mut firms).unwrap());
        }
    }
    let ours = (1..).zip(rows(readme, "R-2026-")).map(|(number, row)| {
        let of = agreed.iter().find(|one| row[1].starts_with(&*one.number)).unwrap();
        let ours = invoice(of, number, 0, &of.sales[0].vat, of.sales[0].net.minor());
        assert_eq!((row[0], row[2]), (&*ours.number, &*ours.issued.to_string()));
        assert_eq!(row[3].replace([' ', '.'], "").replace("EUR", ""), ours.gross_minor.to_string());
        ours
    });
    let ours = ours.collect();
    (agreed, ours)
}

#[test]
fn the_books_of_the_demo_are_what_they_are_said_to_be() {
    let bakery = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/bakery");
    let readme = std::fs::read_to_string(bakery.join("books/README.md")).unwrap();
    let chart = bakery.join("tariff/chart.csv");
    let until = day_of("2026-10-31");
    let read = read_books(&bakery.join("books"), Some(&chart), until);
    let books = read.map_err(|report| report.to_string()).unwrap();
    for role in Role::ALL {
        assert_ne!(books.chart.account(*role), role.word(), "every part has an account");
    }
    let (agreed, ours) = store(&bakery, &readme);
    let mut inputs = Inputs { agreed, ..books };
    inputs.invoices.extend(ours);
    let found = reconcile(&inputs).unwrap();
    let mut differences: Vec<String> = found
        .differences
        .iter()
        .map(|found| {
            let one = &found.difference;
            format!(
                "{} {} {} {}",
                one.reason,
                one.quote.as_deref().unwrap_or("-"),
                one.party,
                one.amount_minor
            )
        })
        .collect();
    differences.sort();
    let expect = [
        "charged_more Q-2026-00002 P-OLOM 5000",
        "courier Q-2026-00002 Bollerwagen Kurier 558",
        "credit_for_our_work Q-2026-00002 P-OLOM 3500",
        "overpaid Q-2026-00010 IT65864580926 1000",
        "unpaid Q-2026-00001 DE829474168 -8115",
    ];
    assert_eq!(differences, expect);
    // Those of the README are these.
    let told = rows(&readme, "`").into_iter().map(|row| row[0].trim_matches('`').to_owned());
    let mut told: Vec<String> = told.collect();
    told.sort();
    let reasons: Vec<&str> = expect.iter().map(|one| one.split(' ').next().unwrap()).collect();
    assert_eq!(told, reasons);

    // The one question is answered by the line that the README offers.
    let [question] = found.undecided.as_slice() else { panic!("{:?}", found.undecided) };
    let offered = answers(question);
    let (name, header) = answered_in(question);
    assert!(readme.contains(&offered[0]), "{}", offered[0]);
    let kept = std::fs::read_to_string(bakery.join("books").join(name)).unwrap();
    assert!(kept.contains(&header), "{header}");
    let rules = std::fs::read(bakery.join("books/books.toml")).unwrap();
    let file = (name.to_owned(), format!("{kept}{}", offered[0]).into_bytes());
    let answered = parse_books(vec![("books.toml".to_owned(), rules), file], until);
    inputs.decisions = answered.map_err(|report| report.to_string()).unwrap().decisions;
    assert_eq!(inputs.decisions.len(), 2);
    let found = reconcile(&inputs).unwrap();
    assert_eq!((found.differences.len(), found.undecided.len()), (5, 0));
    // September and October can be closed then.
    let september = found.close("2026-09".parse().unwrap()).unwrap();
    inputs.closings.push(september);
    reconcile(&inputs).unwrap().close("2026-10".parse().unwrap()).unwrap();
}
