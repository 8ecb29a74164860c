//! Month end on the demo world: what is found, what is asked, and months that are closed.

use std::fs;
use std::path::{Path, PathBuf};

use chrono::Utc;
use serde_json::Value;

use crate::transcript::{bakery, check, program, run_in, words};
use crate::world::{empty, spoil};

pub const STORE: &str = "--tariff tariff --database evenfare.db";
/// The answer that the demo's books leave open.
const ANSWER: &str = "DE79000000001234567890,MB-2026-10,6,1,R-2026-00004,EUR,515.00\n";

/// Name and command line of each transcript, in the order in which they are run.
pub const TRANSCRIPTS: [(&str, &str); 19] = [
    ("month-reconcile.txt", "reconcile books --month 2026-10"),
    ("month-reconcile.json", "reconcile books --month 2026-10 --format json"),
    ("month-until.txt", "reconcile books --until 2026-09-30"),
    ("month-close-before.txt", "close books 2025-09"),
    ("month-close-order.txt", "close books 2026-10"),
    ("month-close-first.txt", "close books 2026-09"),
    ("month-close-again.txt", "close books 2026-09"),
    ("month-close-asked.txt", "close books 2026-10"),
    ("month-close-asked.json", "close books 2026-10 --format json"),
    ("month-close.txt", "close books 2026-10"),
    ("month-closed.txt", "reconcile books --month 2026-10"),
    ("month-back.txt", "reconcile books --month 2026-09"),
    ("month-back-until.txt", "reconcile books --until 2026-10-15"),
    ("month-settled.txt", "reconcile books --month 2026-10"),
    ("month-missing.txt", "reconcile books --month 2026-10"),
    ("month-changed.txt", "reconcile books --month 2026-10"),
    ("month-decided.txt", "reconcile books --month 2026-10"),
    ("month-decided.json", "reconcile books --month 2026-10 --format json"),
    ("month-mistakes.txt", "reconcile books --month 2026-10"),
];

/// A command line that says where things are; a closing needs no chart of accounts.
fn placed(line: &str) -> String {
    let no_chart = line.starts_with("close").then_some("--database evenfare.db");
    format!("{line} {}", no_chart.unwrap_or(STORE))
}

/// The demo, with its store.
pub fn demo(name: &str) -> PathBuf {
    let dir = empty(name);
    let no_paper: &[&str] = if cfg!(feature = "pdf") { &["--no-paper"] } else { &[] };
    let said = run_in(&dir, &[&["demo", "world"], no_paper].concat());
    assert_eq!((said.code, said.err.as_str()), (0, ""), "{}", said.out);
    dir.join("world")
}

fn json(dir: &Path, line: &str) -> Value {
    let said = run_in(dir, &words(&format!("{line} {STORE} --format json")));
    assert_eq!((said.code, said.err.as_str()), (0, ""), "{line}");
    serde_json::from_str(&said.out).unwrap()
}

#[test]
fn a_month_is_reconciled_asked_about_and_closed() {
    let dir = demo("month");
    for (name, line) in TRANSCRIPTS {
        match name {
            // The person decides, and the month can be closed.
            "month-close.txt" => {
                let decided = dir.join("books/decided_payments.csv");
                let text = fs::read_to_string(&decided).unwrap() + ANSWER;
                fs::write(&decided, text).unwrap();
            }
            // The courier's bill is put right when the month is closed already.
            "month-settled.txt" => spoil(&dir, "books/couriers/2026-10.csv", "66.10", "60.52"),
            "month-missing.txt" => fs::remove_file(dir.join("books/closings/2026-09.csv")).unwrap(),
            "month-changed.txt" => spoil(&dir, "books/closings/2026-10.csv", "2026-10-19", "2026-10-18"),
            // A slip of the pen in each of them.
            "month-decided.txt" => {
                fs::remove_dir_all(dir.join("books/closings")).unwrap();
                spoil(&dir, "books/decided_payments.csv", ",6,1,R-2026-00004", ",6,1,R-2026-00040");
                let of = |row: &str| format!("DE79000000001234567890,MB-2026-10,{row}\n");
                let decided = dir.join("books/decided_payments.csv");
                let text = fs::read_to_string(&decided).unwrap();
                let more = [of("16,1,R-2026-00001,EUR,1.00"), of("1,1,R-2026-00001,EUR,240.00")].concat();
                fs::write(&decided, text + &more).unwrap();
                let invoices = "seller,number,quote\nP-OLOM,KS-26-0817,Q-2026-00002\n";
                fs::write(dir.join("books/decided_invoices.csv"), invoices).unwrap();
            }
            "month-mistakes.txt" => {
                fs::remove_file(dir.join("books/decided_payments.csv")).unwrap();
                fs::remove_file(dir.join("books/decided_invoices.csv")).unwrap();
                spoil(&dir, "books/charges/2026-10-olom.csv", "2175.00", "2175,00");
                spoil(&dir, "books/books.toml", "\"EUR\"", "\"EURO\"");
                fs::write(dir.join("books/statement.xml"), "<Document/>").unwrap();
            }
            _ => {}
        }
        check(&dir, name, &placed(line));
    }
}

/// The demo's books with all that is wrong in them put right, and its question answered: nothing is found.
#[test]
fn a_clean_month_has_no_difference() {
    let dir = demo("month-clean");
    let right = |file: &str, from: &str, to: &str| spoil(&dir, &format!("books/{file}"), from, to);
    right("charges/2026-10-olom.csv", "2175.00", "2125.00");
    right("couriers/2026-10.csv", "66.10", "60.52");
    right("work_done.csv", "Q-2026-00002,diagnosis,2026-10-07\n", "");
    // The sum of the entry, and the payment in it.
    for (from, to) in [("2400.00", "2481.15"), ("3925.00", "3915.00")] {
        right("statements/2026-10.xml", from, to);
        right("statements/2026-10.xml", from, to);
    }
    right("statements/2026-10.xml", "6966.73", "7037.88");
    let decided = dir.join("books/decided_payments.csv");
    fs::write(&decided, fs::read_to_string(&decided).unwrap() + ANSWER).unwrap();
    let found = json(&dir, "reconcile books --month 2026-10");
    assert_eq!((&found["differences"], &found["questions"]), (&Value::Array(vec![]), &Value::Array(vec![])));
    let owed = found["balances"].as_array().unwrap().iter().map(|one| one["closing_minor"].as_i64().unwrap());
    // The bonus alone is still to be paid out.
    assert_eq!(owed.collect::<Vec<_>>(), [0, 0, 0, -778]);
}

/// What is settled is told in the month that was open then, with what settled it; the month that was closed with it
/// shows it as it was closed.
#[test]
fn what_is_settled_is_told_once() {
    let dir = demo("month-settled");
    let mut anchors: Vec<String> = Vec::new();
    for month in ["2026-09", "2026-10"] {
        // The closing before it is held against what was noted down, and so is what a month is closed on.
        let noted: String = anchors.iter().map(|anchor| format!(" --anchor {anchor}")).collect();
        let wrong = run_in(&dir, &words(&format!("close books {month} --anchor 2026-09:{}", "0".repeat(64))));
        assert_eq!((wrong.code, wrong.out.as_str()), (65, ""), "{}", wrong.err);
        let said = run_in(&dir, &words(&format!("close books {month} --with-open-questions{noted}")));
        assert_eq!((said.code, said.err.as_str()), (0, ""), "{}", said.out);
        anchors.push(said.out.lines().last().unwrap().to_owned());
    }
    spoil(&dir, "books/couriers/2026-10.csv", "66.10", "60.52");
    for (asked, differences, settled) in [
        ("--month 2026-09", 0, 0),
        ("--month 2026-10", 5, 0),
        ("--month 2026-11", 0, 1),
        ("--until 2026-11-30", 4, 1),
        ("--until 2026-10-31", 5, 0),
    ] {
        let told = json(&dir, &format!("reconcile books {asked}"));
        let number = |what: &str| told[what].as_array().unwrap().len();
        assert_eq!((number("differences"), number("settled")), (differences, settled), "{asked}");
    }
    let october = json(&dir, "reconcile books --month 2026-10");
    let later = |one: &&Value| !one["settled"].is_null();
    let later: Vec<&Value> = october["differences"].as_array().unwrap().iter().filter(later).collect();
    assert_eq!(later.len(), 1);
    assert_eq!(
        (&later[0]["reason"], &later[0]["settled"]["posted"]),
        (&"courier".into(), &"2026-11-01".into())
    );
    let november = json(&dir, "reconcile books --month 2026-11");
    assert_eq!(november["settled"][0]["settled"], later[0]["settled"]);
    assert_eq!(later[0]["settled"]["by"][0]["file"], "couriers/2026-10.csv");
    // What was noted down when they were closed is held against them.
    let noted = format!("--anchor {} --anchor {}", anchors[0], anchors[1]);
    assert_eq!(json(&dir, &format!("reconcile books {noted}"))["settled"].as_array().unwrap().len(), 1);
    for (anchor, told) in [
        (anchors[0].replace("2026-09", "2026-10"), "closings/2026-10.csv has the digest"),
        (anchors[0].replace("2026-09", "2026-08"), "closings/2026-08.csv is not in the books folder"),
    ] {
        let said =
            run_in(&dir, &words(&format!("reconcile books --anchor {} --anchor {anchor}", anchors[0])));
        assert_eq!((said.code, said.out.as_str()), (65, ""), "{anchor}");
        assert!(said.err.contains(told), "{}", said.err);
    }
}

/// What comes out as files says the same as the answer, and ties.
#[test]
fn the_files_tie() {
    let dir = demo("month-files");
    let said = run_in(&dir, &words(&format!("reconcile books {STORE} --month 2026-10 -o out/october")));
    assert_eq!((said.code, said.err.as_str()), (0, ""));
    let table = |name: &str| -> Vec<Vec<String>> {
        let text = fs::read_to_string(dir.join("out/october").join(name)).unwrap();
        // No cell of these tables has a comma or a quote in it.
        text.lines().skip(1).map(|line| line.split(',').map(str::to_owned).collect()).collect()
    };
    let cents = |text: &str| text.replace('.', "").parse::<i64>().unwrap_or(0);

    let journal = table("journal.csv");
    assert!(journal.len() > 10);
    assert_eq!(journal.iter().map(|line| cents(&line[10])).sum::<i64>(), 0, "the journal balances");
    assert!(
        journal.iter().all(|line| line[1].starts_with("2026-10") && line[6].chars().all(char::is_numeric))
    );

    let balances = table("balances.csv");
    let told = json(&dir, "reconcile books --month 2026-10");
    assert_eq!(balances.len(), told["balances"].as_array().unwrap().len());
    for balance in &balances {
        let amounts: Vec<i64> = balance[3..].iter().map(|text| cents(text)).collect();
        assert_eq!(amounts[0] + amounts[1] + amounts[2] + amounts[3], amounts[4], "{balance:?}");
        let statement = table(&format!("statements/{}-{}.csv", balance[0], balance[2]));
        let (first, last) = (statement.first().unwrap(), statement.last().unwrap());
        assert_eq!((&*first[3], cents(&first[9])), ("opening", amounts[0]));
        assert_eq!((&*last[3], cents(&last[9])), ("closing", amounts[4]));
        let open = table(&format!("statements/{}-{}-open.csv", balance[0], balance[2]));
        assert_eq!(open.iter().map(|line| cents(&line[7])).sum::<i64>(), amounts[4], "{open:?}");
    }
    // What is open of all is what is open of each, as it is told.
    let open = table("open.csv");
    let told_open = told["open"].as_array().unwrap();
    let of_each = balances.iter().flat_map(|of| table(&format!("statements/{}-{}-open.csv", of[0], of[2])));
    assert_eq!(open, of_each.collect::<Vec<_>>());
    assert_eq!(open.len(), told_open.len());
    for (line, told) in open.iter().zip(told_open) {
        assert_eq!(
            (&*line[3], cents(&line[7])),
            (told["document"].as_str().unwrap(), told["open_minor"].as_i64().unwrap())
        );
    }
    let bonus = "P-BRZEG,2026,2026-10,1555.10,0.5,7.78,7.78,0.00,10000.00,1.25,8444.90,EUR";
    let bonus = || [bonus.split(',').map(str::to_owned).collect::<Vec<_>>()];
    assert_eq!(table("bonuses.csv"), bonus());
    assert_eq!(table("statements/P-BRZEG-bonus.csv"), bonus());
    // A partner whom nothing is invoiced to is told what differs all the same, and of nobody else's.
    assert!(balances.iter().all(|balance| balance[0] != "P-OLOM"));
    let account = table("statements/P-OLOM-EUR.csv");
    let account: Vec<_> = account.iter().map(|line| (&*line[3], &*line[9])).collect();
    assert_eq!(account, [("opening", "0.00"), ("closing", "0.00")]);
    let told = table("statements/P-OLOM-differences.csv");
    let told: Vec<_> = told.iter().map(|line| line[2..8].join(",")).collect();
    let expected = [
        "credit_for_our_work,Q-2026-00002,,,35.00,EUR",
        "charged_more,Q-2026-00002,2125.00,2175.00,50.00,EUR",
    ];
    assert_eq!(told, expected);
    let statements = fs::read_dir(dir.join("out/october/statements")).unwrap();
    let names: Vec<String> =
        statements.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    assert_eq!(names.iter().filter(|name| name.ends_with("-differences.csv")).count(), 1, "{names:?}");
    for form in ["pdf", "xlsx"].into_iter().filter(|form| names.iter().any(|name| name.ends_with(form))) {
        assert!(names.contains(&format!("P-OLOM-EUR.{form}")), "{names:?}");
    }
    // September ends where October begins.
    let before = json(&dir, "reconcile books --month 2026-09");
    for balance in before["balances"].as_array().unwrap() {
        let party = balance["party"].as_str().unwrap();
        let next = balances.iter().find(|next| next[0] == party).unwrap();
        assert_eq!(balance["closing_minor"].as_i64().unwrap(), cents(&next[3]));
    }
    // Nothing is mixed with what stands there.
    let again = run_in(&dir, &words(&format!("reconcile books {STORE} -o out/october")));
    assert_eq!((again.code, again.out.as_str()), (66, ""));
}

/// A copy of our own invoice in the folder counts once, and so does a file under two names.
#[test]
fn loading_twice_changes_nothing() {
    let dir = demo("month-twice");
    let line = "reconcile books --month 2026-10";
    let once = json(&dir, line);
    fs::copy(dir.join("books/couriers/2026-10.csv"), dir.join("books/couriers/again.csv")).unwrap();
    fs::copy(dir.join("books/statements/2026-10.xml"), dir.join("books/statements/again.xml")).unwrap();
    for number in ["R-2026-00002", "R-2026-00003"] {
        let args =
            format!("paper {number} --format xml -o books/invoices/{number}.xml --database evenfare.db");
        let said = program(&dir, &words(&args)).output().unwrap();
        assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
    }
    assert_eq!(json(&dir, line), once);
    // An invoice that says something else is told of, with both places.
    spoil(&dir, "books/invoices/R-2026-00003.xml", "2026-10-19", "2026-10-20");
    let said = run_in(&dir, &words(&format!("{line} {STORE}")));
    assert_eq!(said.code, 65, "{}", said.out);
    assert!(said.err.contains("invoices/R-2026-00003.xml") && said.err.contains("store:"), "{}", said.err);
}

/// A name that nobody knows stops nothing, and is told where it stands: beside the page, in the data, and when the
/// month is closed.
#[test]
fn a_name_that_nobody_knows_is_told() {
    let dir = demo("month-unknown");
    spoil(&dir, "books/bonuses.csv", "P-BRZEG,2026,1000.00", "P-BREZG,2026,1000.00");
    spoil(&dir, "books/work_done.csv", "Q-2026-00002", "Q-2026-00022");
    let said = |form: &str| {
        run_in(&dir, &words(&format!("reconcile books --month 2026-10 {STORE} --format {form}")))
    };
    let page = said("text");
    assert_eq!(page.code, 0, "{}", page.err);
    assert!(page.out.contains("2 names that nobody knows"), "{}", page.out);
    let data = said("json");
    let told: Value = serde_json::from_str(&data.out).unwrap();
    let warnings = told["warnings"].as_array().unwrap();
    let of = |one: &Value| {
        let text = |name: &str| one[name].as_str().unwrap().to_owned();
        (text("file"), one["line"].as_u64().unwrap(), text("severity"), text("code"), text("found"))
    };
    let warned = |file: &str, line, code: &str, found: &str| {
        (format!("books/{file}"), line, "warning".into(), code.into(), found.into())
    };
    assert_eq!(
        warnings.iter().map(of).collect::<Vec<_>>(),
        [
            warned("bonuses.csv", 3, "unknown_partner", "P-BREZG"),
            warned("work_done.csv", 3, "unknown_quote", "Q-2026-00022"),
        ]
    );
    assert!(warnings[0]["expected"].as_str().unwrap().ends_with("the nearest: P-BRZEG"), "{}", warnings[0]);
    let closed = run_in(&dir, &words("close books 2026-09"));
    assert_eq!(closed.code, 0, "{}", closed.err);
    // The work was done after that month.
    for (said, quote) in [(page.err, true), (data.err, true), (closed.err, false)] {
        assert!(said.contains("books/bonuses.csv:3") && said.contains("unknown_partner"), "{said}");
        assert_eq!(said.contains("unknown_quote"), quote, "{said}");
    }
}

#[test]
fn what_is_not_there_is_said() {
    let dir = demo("month-missing");
    for (line, told) in [
        ("reconcile nowhere --month 2026-10", "there is no books folder nowhere; there is one in ./books"),
        (
            "reconcile . --month 2026-10",
            ". is no books folder: it has no books.toml; there is one in ./books",
        ),
        ("close tariff 2026-09", "tariff is no books folder: it has no books.toml; there is one in ./books"),
        ("reconcile books --month 2026-10 --tariff tarif", "there is no tariff folder tarif"),
        ("reconcile books --month 2026-10 --database none.db", "there is no store none.db"),
    ] {
        let said = run_in(&dir, &words(line));
        assert_eq!((said.code, said.out.as_str()), (66, ""), "{line}");
        assert!(said.err.contains(told), "{}", said.err);
    }
    assert!(!dir.join("none.db").exists());
    for (line, told) in [
        ("reconcile books --month October", "is not a month"),
        ("reconcile books --until 31.10.2026", "expected a day such as 2026-07-31"),
        ("reconcile books --anchor 2026-09", "expected MONTH:DIGEST"),
    ] {
        let said = run_in(&dir, &words(line));
        assert_eq!(said.code, 64, "{line}");
        assert!(said.err.contains(told), "{}", said.err);
    }
    // A tariff without a chart of accounts is no mistake, but said.
    let said = run_in(&dir, &words("reconcile books --month 2026-10 --tariff tariff/2026-07"));
    assert_eq!(said.code, 0, "{}", said.err);
    assert!(said.err.contains("there is no chart.csv in tariff/2026-07"), "{}", said.err);
    // A month that is not over.
    let said = run_in(&dir, &words("close books 2099-01"));
    assert_eq!((said.code, said.out.as_str()), (69, ""));
    assert!(
        said.err.contains("its last day, 2099-01-31") && !dir.join("books/closings").exists(),
        "{}",
        said.err
    );
}

/// A month of which nothing is known is not told to be as agreed, and one that is not over is told to be so.
#[test]
fn a_month_of_nothing_or_not_over_is_told() {
    let dir = demo("month-nothing");
    let page = |asked: &str| {
        let said = run_in(&dir, &words(&format!("reconcile books {asked} {STORE}")));
        assert_eq!((said.code, said.err.as_str()), (0, ""), "{asked}");
        said.out
    };
    for (asked, what) in [("--month 2025-01", "for 2025-01"), ("--until 2025-01-31", "up to 2025-01-31")] {
        let page = page(asked);
        assert!(page.contains(&format!("There is nothing in the books or the store {what}.")), "{page}");
        assert!(!page.contains("as it was agreed") && !page.contains("is not over"), "{page}");
    }
    let month = Utc::now().format("%Y-%m").to_string();
    assert!(page(&format!("--month {month}")).contains(&format!("{month} is not over")));
    // What is owed and what is owed back is not one sum.
    let later = page("--month 2026-11");
    let open = later.lines().find(|line| line.starts_with("Still open of 2026-10: ")).unwrap();
    assert!(open.contains("differences; `--month 2026-10`") && !open.contains("EUR"), "{later}");
}

/// The office learns what its number is of; a reader who may not see all of them does not.
#[test]
fn a_number_of_another_kind_is_told() {
    let dir = demo("month-kinds");
    for (asked, expected) in [
        ("Q-2026-00002 --kind invoice", "Q-2026-00002 is a quote; invoiced by R-2026-0000"),
        ("Q-2026-00003 --kind invoice", "Q-2026-00003 is a quote; it has no invoice yet"),
        ("Q-2026-00099 --kind invoice", "there is no Q-2026-00099 in"),
        ("R-2026-00001 --kind quote", "R-2026-00001 is an invoice; its quote is Q-2026-0000"),
        ("R-2026-00001 --kind quote --as customer", "there is no R-2026-00001 in"),
        ("Q-2026-00003 --kind invoice --as customer", "there is no Q-2026-00003 in"),
    ] {
        let line = format!("paper {asked} --database evenfare.db -o out.pdf");
        let said = run_in(&dir, &words(&line));
        assert_eq!((said.code, said.out.as_str()), (64, ""), "{line}");
        let told = said.err.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(told.contains(expected), "{line}: {told}");
    }
}

/// A misspelt code is no partner of another route.
#[test]
fn a_reader_that_nobody_is_is_told_the_nearest() {
    let dir = bakery();
    let said = run_in(&dir, &words("quote jobs/02-two-partners.toml --tariff tariff --as partner:P-OLON"));
    assert_eq!(said.code, 64, "{}", said.out);
    let told = said.err.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("has no partner `P-OLON`; the nearest: P-OLOM"), "{told}");
}
