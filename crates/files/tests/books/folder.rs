//! A books folder as a whole.

use std::fs;

use evenfare_engine::money::Currency;
use evenfare_files::{answered_in, answers, parse_books, read_books, read_books_watched};
use evenfare_reconcile::chart::Role;
use evenfare_reconcile::reconcile;
use evenfare_reconcile::terms::{Decision, Part};
use proptest::prelude::*;
use proptest::sample::Index;

use crate::faults::month;
use crate::kinds::FAULTS;
use crate::world::plans;
use crate::{day_of, file, refused, rules};

const CHARGES: &str =
    "partner,quote,invoice,issued,currency,net,vat\nP-1,Q-1,R-1,2026-07-14,EUR,100.50,19.10\n";

#[test]
fn everything_in_a_folder_is_read_whatever_the_order() {
    let files = vec![
        file("work_done.csv", "quote,work,done\nQ-1,leg_in,2026-07-01\n"),
        file("charges/2026/07.csv", CHARGES),
        file("charges/2026/07 copy.csv", CHARGES),
        file("bonuses.csv", "percent,partner,year,from_turnover\n1.5,P-1,2026,100.5\n1.5,P-1,2026,100.50\n"),
        file("chart.csv", "role,account\nbank,1200\n"),
        file("rates.csv", "date,currency,units_per_eur\n2026-07-01,JPY,170.25\n"),
        file("bank_accounts.csv", "account;firm\nDE1;P-1\nDE2;P-1\n"),
        file("decided_invoices.csv", "seller,number,quote\nworkshop,R-9,\nP-1,R-1,Q-1\n"),
        file(
            "decided_payments.csv",
            "account,statement,entry,payment,invoice,currency,amount\nDE1,S,1,1,R-2,JPY,5\nDE1,S,1,1,R-1,EUR,-5\n",
        ),
        file("notes.md", "anything"),
        file("letters/to the bank.txt", "anything"),
        file("charges/.gitkeep", ""),
        rules(),
    ];
    let read = |files: Vec<(String, Vec<u8>)>| {
        parse_books(files, day_of("2026-07-31")).map_err(|report| report.to_string()).unwrap()
    };
    let books = read(files.clone());
    let inputs = &books;
    assert_eq!((inputs.terms.until, inputs.terms.rounding_minor), (day_of("2026-07-31"), 2));
    assert_eq!(inputs.terms.bonuses.len(), 1);
    assert_eq!(inputs.terms.bonuses[0].from_minor, 10_050);
    assert_eq!(inputs.terms.accounts.len(), 2);
    // Each says where it stands, for a name that nobody knows.
    let terms = &inputs.terms;
    let places = [&terms.bonuses[0].place, &terms.accounts[1].place, &terms.reporting["P-1"]];
    let places = places.map(|place| format!("{}:{}", place.file, place.line));
    assert_eq!(places, ["bonuses.csv:2", "bank_accounts.csv:3", "books.toml:5"]);
    assert_eq!(&*inputs.charges[0].place.file, "charges/2026/07 copy.csv");
    assert_eq!(inputs.charges.len(), 2, "what is told twice counts once when it is reconciled");
    let jpy: Currency = "JPY".parse().unwrap();
    assert_eq!(inputs.rates.converted(17_025, jpy, inputs.terms.currency, day_of("2026-07-02")), Ok(10_000));
    let Decision::Payment { place, towards, .. } = &inputs.decisions[0] else {
        panic!("{:?}", inputs.decisions)
    };
    let part = |invoice: &str, currency: &str, minor| Part {
        invoice: invoice.into(),
        currency: currency.parse().unwrap(),
        minor,
    };
    let expect = [part("R-1", "EUR", -500), part("R-2", "JPY", 5)];
    assert_eq!(towards[..], expect);
    assert_eq!((&*place.file, place.line), ("decided_payments.csv", 2));
    let Decision::Invoice { place, quote, .. } = &inputs.decisions[2] else {
        panic!("{:?}", inputs.decisions)
    };
    assert_eq!((&*place.file, place.line), ("decided_invoices.csv", 2));
    assert_eq!(*quote, None);
    assert_eq!((books.chart.account(Role::Bank), books.chart.account(Role::Bonus)), ("1200", "bonus"));
    let mut turned = files;
    turned.reverse();
    assert_eq!(read(turned), *inputs);
}

#[test]
fn every_mistake_of_every_file_is_told_at_once() {
    let files = vec![
        file(
            "books.toml",
            "currency = \"EUR\"\nrounding_minor = -1\ncurrency_percent = 1.5\npayment_day = 3\n",
        ),
        file("chart.csv", "role,account\nbanc,1\nbank,1\nbank,2\nbonus,\n"),
        file("bank_accounts.csv", "account,firm\nDE1,P-1\nDE1,P-2\n"),
        file("bonuses.csv", "partner,year,from_turnover,percent\nP-1,2026,1.005,1\n"),
        file("rates.csv", "date,currency,units_per_eur\n2026-07-01,JPY,0\n2026-07-01,XXQ,\n"),
        file("work_done.csv", "quote,work\nQ-1,removal\n"),
        file(
            "decided_payments.csv",
            "account,statement,entry,payment,invoice,currency,amount\nA,S,1,1,,EUR,\nA,S,2,1,,,\nA,S,2,1,R-1,EUR,1\nA,S,3,1,R-1,EUR,1\nA,S,3,1,R-1,EUR,2\n",
        ),
        file("decided_invoices.csv", "seller,number,quote\nP,1,Q-1\nP,1,Q-2\n"),
        file("statements/s.xml", "<a/>"),
        file("statements/s.txt", "x"),
        file("invoices/i.xml", ""),
        file("charges/c.csv", "partner\n"),
        file("couriers/c.csv", ""),
        file("couriers/c.csv", ""),
        file("closings/2026-06.csv", "month\n2026-06\n"),
        file("charge/c.csv", CHARGES),
    ];
    let told = refused(parse_books(files, day_of("2026-07-31")));
    let found: Vec<String> =
        told.lines().map(|line| line.split(']').next().unwrap().replace(": error[", " ")).collect();
    let expect = [
        "bank_accounts.csv:3:1 said_twice",
        "bonuses.csv:2:10 too_many_decimals",
        "books.toml:1:1 missing_key",
        "books.toml:2:18 out_of_range",
        "books.toml:3:20 binary_fraction",
        "books.toml:4:1 unknown_key",
        "charge/c.csv unused_file",
        "charges/c.csv:1:1 missing_column",
        "chart.csv:2:1 unknown_word",
        "chart.csv:4:1 said_twice",
        "chart.csv:5:7 empty_cell",
        "closings/2026-06.csv:1:1 not_a_closing",
        "couriers/c.csv doubled_file",
        "couriers/c.csv:1:1 missing_header",
        "decided_invoices.csv:3:1 said_twice",
        "decided_payments.csv:2:10 invoice_missing",
        "decided_payments.csv:3:1 decided_twice",
        "decided_payments.csv:6:1 said_twice",
        "invoices/i.xml:1:1 xml_syntax",
        "rates.csv:2:16 no_rate",
        "rates.csv:3:12 unknown_currency",
        "rates.csv:3:16 empty_cell",
        "statements/s.txt unused_file",
        "statements/s.xml:1:1 unknown_document",
        "work_done.csv:1:1 missing_column",
    ];
    let mut once = found.clone();
    once.dedup();
    assert_eq!(once, expect, "{told}");
    for says in [
        "found `charge/c.csv`, expected only files and folders that a books folder has; the nearest: charges",
        "found `statements/s.txt`, expected files whose names end in .xml",
    ] {
        assert!(told.contains(says), "{told}");
    }
}

#[test]
fn a_folder_on_disk_is_read_with_the_chart_of_the_tariff() {
    let dir = tempfile::tempdir().unwrap();
    let books = dir.path().join("books");
    fs::create_dir_all(books.join("charges/2026/07")).unwrap();
    fs::create_dir_all(books.join(".git")).unwrap();
    fs::write(books.join(".git/config.toml"), "x").unwrap();
    fs::write(books.join("charges/2026/07/c.csv"), CHARGES).unwrap();
    let chart = dir.path().join("chart.csv");
    fs::write(&chart, "role,account\nbank,1200\n").unwrap();
    let until = day_of("2026-07-31");
    let told = refused(read_books(&books, Some(&chart), until));
    let expect = format!(
        "{}: error[missing_file]: found nothing, expected the rules of the books",
        books.join("books.toml").display()
    );
    assert_eq!(told, expect);
    fs::write(books.join("books.toml"), rules().1).unwrap();
    let mut watched = Vec::new();
    let read = read_books_watched(&books, Some(&chart), until, |done, all| watched.push((done, all)));
    let read = read.map_err(|report| report.to_string()).unwrap();
    // The rules, the chart and the charges: what is left alone is not counted.
    assert_eq!(watched, [(0, 3), (1, 3), (2, 3), (3, 3)]);
    assert_eq!(&*read.charges[0].place.file, "charges/2026/07/c.csv");
    assert_eq!(read.chart.account(Role::Bank), "1200");
    // A mistake is told by the name it has on disk.
    fs::write(books.join("charges/2026/07/c.csv"), CHARGES.replace("100.50", "1.005")).unwrap();
    let told = refused(read_books(&books, None, until));
    assert!(
        told.starts_with(&format!("{}:2:28: error[too_many", books.join("charges/2026/07/c.csv").display())),
        "{told}"
    );
    // One chart is enough.
    fs::write(books.join("chart.csv"), "role,account\n").unwrap();
    let mut watched = 0;
    let told = refused(read_books_watched(&books, Some(&chart), until, |done, _| watched = done));
    assert!(told.contains("doubled_file") && watched == 4, "{told}");
    let missing = read_books(&dir.path().join("none"), None, until).unwrap_err();
    assert!(missing.has_unreadable() && missing.len() == 1, "{missing}");
    let told = refused(read_books(&chart, None, until));
    assert!(told.ends_with("it is a file; a books folder is the folder that its files lie in"), "{told}");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever a question is about, each of the rows that are offered can be pasted, and then it is asked no more.
    #[test]
    fn every_answer_to_a_question_is_taken(
        plans in plans(),
        fault in prop::sample::select(FAULTS.to_vec()),
        silent in prop::collection::vec((any::<Index>(), any::<bool>()), 1..5),
    ) {
        let mut inputs = month(&plans, &[(0, fault)]).inputs;
        // Some payers do not say what for, and some of them not even who they are.
        let mut batches: Vec<_> = inputs.statements.iter_mut().flat_map(|one| &mut one.batches).collect();
        let entries = batches.len();
        for (which, nameless) in silent.iter().filter(|_| entries > 0) {
            for payment in &mut batches[which.index(entries)].payments {
                (payment.remittance, payment.end_to_end) = ("".into(), None);
                payment.structured.clear();
                payment.party.take_if(|_| *nameless);
            }
        }
        let asked = reconcile(&inputs).unwrap();
        for question in &asked.undecided {
            let (name, header) = answered_in(question);
            let offered = answers(question);
            prop_assert!(offered.len() > question.candidates.len());
            for rows in offered {
                let read = parse_books(vec![rules(), (name.to_owned(), format!("{header}{rows}").into_bytes())], inputs.terms.until);
                let decisions = read.map_err(|report| TestCaseError::fail(report.to_string()))?.decisions;
                prop_assert_eq!(decisions.len(), 1);
                let mut decided = inputs.clone();
                decided.decisions = decisions;
                let books = reconcile(&decided).map_err(|error| TestCaseError::fail(format!("{error}: {rows}")))?;
                prop_assert!(books.undecided.iter().all(|other| other.subject != question.subject));
            }
        }
    }
}
