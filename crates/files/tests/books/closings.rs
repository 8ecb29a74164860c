//! Closings are read as they were written, or not at all.

use evenfare_files::{closing_file, parse_books, write_closing};
use evenfare_reconcile::chart::{Chart, Role};
use evenfare_reconcile::input::{CourierBill, Leg, Place};
use evenfare_reconcile::period::{Closing, Found};
use evenfare_reconcile::{Inputs, reconcile};
use proptest::prelude::*;
use proptest::sample::Index;
use proptest::strategy::ValueTree;
use sha2::{Digest, Sha256};

use crate::faults::month;
use crate::kinds::{FAULTS, Fault};
use crate::world::{Plan, day, plans};
use crate::{day_of, file, refused, rules};

/// Months with up to one fault, and a courier whose name and papers hold whatever a text can hold.
fn months() -> impl Strategy<Value = Inputs> {
    let text = || "([^\0]{1,8}|[ ,;\"#\r\n]{1,4}[a-z]{0,2})";
    let fault = prop::option::of((any::<Index>(), prop::sample::select(FAULTS.to_vec())));
    (plans(), fault, (text(), text(), text(), text())).prop_map(|(plans, fault, texts)| {
        let faults: Vec<_> = fault.iter().map(|(place, fault)| (place.index(plans.len()), *fault)).collect();
        let mut inputs = month(&plans, &faults).inputs;
        let accounts = [(Role::Bank, "18,10".into()), (Role::Transit, "1460".into())];
        inputs.chart = Chart::new(accounts);
        let (courier, bill, quote, file) = texts;
        inputs.courier_bills.push(CourierBill {
            place: Place { file: file.into(), line: 7 },
            courier: courier.into(),
            bill: bill.into(),
            consignment: "1".into(),
            quote: quote.into(),
            leg: Leg::Out,
            carried: day(3),
            currency: inputs.terms.currency,
            net_minor: -1_234,
        });
        inputs
    })
}

fn closed(inputs: &Inputs, month: &str) -> Closing {
    let month = month.parse().unwrap();
    reconcile(inputs).unwrap().close(month).unwrap()
}

fn read(closings: &[(&str, &str)]) -> Result<Inputs, evenfare_files::Report> {
    let files = closings.iter().map(|(path, text)| file(path, text));
    parse_books([rules()].into_iter().chain(files).collect(), day_of("2026-08-31"))
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn closing_is_read_as_it_was_written(inputs in months()) {
        let mut inputs = inputs;
        let june = closed(&inputs, "2026-06");
        inputs.closings.push(june.clone());
        let july = closed(&inputs, "2026-07");
        let (first, second) = (write_closing(&june), write_closing(&july));
        // Also under a second name, and with the ends of lines of another system, where no cell can hold any.
        let copy = if first.contains('"') { first.clone() } else { first.replace('\n', "\r\n") };
        let names = (closing_file(june.month), closing_file(july.month));
        let books = read(&[(&names.0, &first), (&names.1, &second), ("closings/2026/copy.csv", &copy)]);
        let books = books.map_err(|report| TestCaseError::fail(format!("{report}\n{first}")))?;
        prop_assert_eq!(&books.closings, &[june.clone(), july.clone(), june.clone()]);
        for text in [&first, &second] {
            let written = cells(text).pop().unwrap();
            prop_assert_eq!((&*written[0], &written[4]), ("digest", &digest_by_description(text)));
        }
        // They are followed as they were.
        let known = reconcile(&Inputs { closings: vec![june, july], ..inputs.clone() }).unwrap();
        inputs.closings = books.closings;
        prop_assert_eq!(&reconcile(&inputs).unwrap(), &known);
        // A file that goes by another name later makes nothing new of what was found in it.
        inputs.courier_bills.iter_mut().for_each(|bill| bill.place.file = "renamed.csv".into());
        let renamed = reconcile(&inputs).unwrap();
        let days = |found: &[Found]| -> Vec<_> { found.iter().map(|one| (one.posted, one.difference.reason)).collect() };
        let settled: Vec<_> = renamed.settled.iter().map(|one| &one.found).collect();
        prop_assert_eq!((days(&renamed.differences), settled), (days(&known.differences), known.settled.iter().map(|one| &one.found).collect()));
    }

    #[test]
    fn a_changed_letter_of_a_closing_is_found(
        inputs in months(),
        at in any::<Index>(),
        removed in 0..3_usize,
        added in prop::sample::select(vec!["", "0", "1", "a", "\n", ",", "\"", " ", "-", "#", "\u{E4}"]),
    ) {
        let text = write_closing(&closed(&inputs, "2026-06"));
        let mut bytes = text.clone().into_bytes();
        let start = at.index(bytes.len());
        bytes.splice(start..(start + removed).min(text.len()), added.bytes());
        // That the ends of lines become those of another system is no change, and nothing is none either.
        let unix = |bytes: &[u8]| String::from_utf8_lossy(bytes).replace("\r\n", "\n");
        if unix(&bytes) == unix(text.as_bytes()) {
            return Ok(());
        }
        let read = parse_books(vec![rules(), ("closings/a.csv".into(), bytes)], day_of("2026-08-31"));
        let told = refused(read);
        prop_assert!(told.contains("[closing_changed]") || told.contains("error["), "{}", told);
    }
}

/// The cells of a closing's rows, read by nothing of ours.
fn cells(text: &str) -> Vec<Vec<String>> {
    let (mut rows, mut row, mut cell, mut quoted) = (Vec::new(), Vec::new(), String::new(), false);
    let mut letters = text.chars().peekable();
    while let Some(letter) = letters.next() {
        match letter {
            '"' if quoted && letters.next_if_eq(&'"').is_some() => cell.push('"'),
            '"' => quoted = !quoted,
            ',' if !quoted => row.push(std::mem::take(&mut cell)),
            '\n' if !quoted => {
                row.push(std::mem::take(&mut cell));
                rows.push(std::mem::take(&mut row));
            }
            letter => cell.push(letter),
        }
    }
    rows
}

/// The digest of a closing's file by what FORMAT.md says of it.
fn digest_by_description(text: &str) -> String {
    let rows = cells(text);
    let mut hash = Sha256::new();
    let mut add = |text: &str| {
        hash.update(u64::try_from(text.len()).unwrap().to_be_bytes());
        hash.update(text.as_bytes());
    };
    let (mut whole, mut settles) = (false, false);
    for (at, row) in rows.iter().enumerate().skip(1) {
        let [kind, posted, day, word, number, party, quote, currency, minor, base_minor, file, line] =
            row.as_slice()
        else {
            panic!("{row:?}")
        };
        let below = |kind: &str| rows[at + 1..].iter().take_while(|row| row[0] == kind).count();
        match kind.as_str() {
            "closing" => {
                let byte = |at: usize| u8::from_str_radix(&number[at..at + 2], 16).unwrap().to_string();
                let bytes: Vec<String> = (0..64).step_by(2).map(byte).collect();
                add(word);
                add(&format!("[{}]", bytes.join(", ")));
            }
            "account" => ["account", word, number].into_iter().for_each(&mut add),
            "papers" => {
                whole = word == "whole";
                add(&format!("papers {number}{}", if whole { " whole" } else { "" }));
            }
            "paper" => {
                let said = [currency, minor, base_minor].map(|cell| format!(" {cell}")).concat();
                add(&format!("{word} {day}{}", if currency.is_empty() { "" } else { &said }));
                [party, number, quote].into_iter().for_each(|cell| add(cell));
                if whole {
                    add(&below("detail").to_string());
                }
            }
            "detail" => [word, number].into_iter().for_each(|cell| add(cell)),
            "bonuses" => add(&format!("bonuses {number}")),
            "bonus" => {
                add(&format!("{word} {number}"));
                add(party);
                if rows[at + 1][0] != "step" {
                    add("");
                }
            }
            "step" => add(&format!("{minor} {number}")),
            "transit" => {
                add(&format!("transit {day} {minor} {currency} {base_minor}"));
                [word, party, number].into_iter().for_each(|cell| add(cell));
                add(&if line.is_empty() { String::new() } else { format!("{line} {file}") });
            }
            "transaction" => {
                [word, number, party].into_iter().for_each(|cell| add(cell));
                add(&format!("{day} {posted} {}", below("posting")));
            }
            "posting" => add(&format!("{word} {minor} {currency} {base_minor}")),
            "difference" | "settled" => {
                if kind == "settled" {
                    let now = if base_minor.is_empty() { String::new() } else { format!(" {base_minor}") };
                    add(&format!("settled {posted}{now}"));
                }
                settles = kind == "settled";
                let counted = if kind == "settled" { number } else { posted };
                let agreed = Some(&rows[at + 1]).filter(|next| next[0] == "agreed");
                let told = agreed.map(|agreed| format!(" {}", agreed[8])).unwrap_or_default();
                add(&format!("{counted} {day} {word} {minor} {currency}{told}"));
                [quote, party].into_iter().for_each(|cell| add(cell));
                let behind = rows[at + 1 + agreed.iter().count()..].iter();
                add(&behind.take_while(|row| row[0] == "document").count().to_string());
            }
            "agreed" => {}
            "document" | "by" => {
                [word, number].into_iter().for_each(|cell| add(cell));
                add(&if line.is_empty() { String::new() } else { format!("{line} {file}") });
                // How many papers settled it stands behind the last document, also where there is none.
                let is_last = rows[at + 1][0] != "document";
                if kind == "document" && settles && is_last {
                    add(&below("by").to_string());
                }
            }
            _ => assert_eq!(kind, "digest"),
        }
    }
    hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect()
}

/// A closing is found out by its digest, also where whoever changes it writes it well.
#[test]
fn what_a_closing_says_is_under_its_digest() {
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let plans: Vec<Plan> = plans().new_tree(&mut runner).unwrap().current();
    let mut inputs = month(&plans, &[]).inputs;
    inputs.chart = Chart::new([(Role::Transit, "1460".into())]);
    let text = write_closing(&closed(&inputs, "2026-06"));
    let told = |from: &str, to: &str| {
        assert!(text.contains(from), "{from}\n{text}");
        refused(read(&[("closings/2026-06.csv", &text.replacen(from, to, 1))]))
    };
    let expect = |from: &str, to: &str, place: &str| {
        let told = told(from, to);
        assert!(told.starts_with(&format!("closings/2026-06.csv:{place}: error[")), "{told}");
        assert!(told.ends_with("for an open month") || told.contains("not_a_closing"), "{told}");
    };
    // It is said where, what stands there, what is to stand there, and what to do.
    let says = |told: String, found: &str, expected: String| {
        let mend = "Put back the file that closing the month wrote; what is found out later counts for an open month";
        assert!(told.starts_with(&format!("closings/2026-06.csv:{found}")), "{told}");
        assert!(told.ends_with(&format!("expected {expected}. {mend}")), "{told}");
    };
    let first = text.lines().nth(1).unwrap();
    let found = "2:1: error[closing_changed]: found `\"closing\",,,2026-06,000";
    says(told("closing,,", "\"closing\",,"), found, format!("`{first}`, as that row was written"));
    let (digest, now) =
        (digest_by_description(&text), digest_by_description(&text.replacen("1460", "1461", 1)));
    let found = format!("{}:1: error[closing_changed]: found `{}", text.lines().count(), &digest[..40]);
    let why =
        "which the rows above come to: one of them or this one is not as it was when 2026-06 was closed";
    says(told("1460", "1461"), &found, format!("{now}, {why}"));
    let last = text.lines().count();
    expect("2026-06", "2026-05", &format!("{last}:1"));
    expect("closing,,,2026-06", "\"closing\",,,2026-06", "2:1");
    let first = text.lines().position(|line| line.starts_with("transaction,")).unwrap() + 1;
    expect("transaction,", "transection,", &format!("{first}:1"));
    expect("account,", "accounts,", "3:1");
    // The step of the bonus that its partner had reached, and the one after it.
    expect("bonus,,,2026,0,P-10", "bonus,,,2026,0,P-20", &format!("{last}:1"));
    expect("step,,,,1.5,,,,100000", "step,,,,1.5,,,,100001", &format!("{last}:1"));
    expect("1460", "1461", &format!("{last}:1"));
    expect("receivable", "bank", &format!("{last}:1"));
    expect("row,posted", "row,day", "1:1");
    let cut: String = text.lines().take(last - 1).map(|line| format!("{line}\n")).collect();
    let told = refused(read(&[("closings/2026-06.csv", &cut)]));
    assert!(told.contains("expected rows from `closing` to `digest`"), "{told}");
}

/// A closing from before it kept what was agreed has the same differences: it is read, and none is settled by that.
#[test]
fn a_closing_of_before_what_was_agreed_was_kept_is_read() {
    let plan = Plan { net: 50_000, day: 3, ..Plan::default() };
    let mut inputs = month(&[plan], &[(0, Fault::UnpaidPart)]).inputs;
    let june = closed(&inputs, "2026-06");
    let text = write_closing(&june);
    let agreed = |row: &&str| row.starts_with("agreed,");
    assert_eq!(text.lines().filter(agreed).collect::<Vec<_>>(), ["agreed,,,,,,,,59500,,,"]);
    let other = text.replace("agreed,,,,,,,,59500,,,", "agreed,,,,,,,,59501,,,");
    assert!(refused(read(&[("closings/2026-06.csv", &other)])).contains("closing_changed"));
    let rows = text.lines().filter(|row| !agreed(row) && !row.starts_with("digest,"));
    let rows: String = rows.map(|row| format!("{row}\n")).collect();
    let digest = |digest: &str| format!("{rows}digest,,,,{digest},,,,,,,\n");
    let earlier = digest(&digest_by_description(&digest("")));
    let books = read(&[("closings/2026-06.csv", &earlier)]).map_err(|report| report.to_string()).unwrap();
    assert_eq!(books.closings[0].differences[0].difference.agreed_minor, None);
    inputs.closings = vec![june];
    let known = reconcile(&inputs).unwrap();
    inputs.closings = books.closings;
    let of_earlier = reconcile(&inputs).unwrap();
    assert_eq!((&of_earlier.differences, of_earlier.settled.len()), (&known.differences, 0));
    assert_eq!(known.differences[0].difference.figures(), Some([59_500, 57_500]));
}

/// Of a debt of which a part was paid in the next month, that month keeps what is left: under the digest, and read again.
#[test]
fn what_changed_is_read_as_it_was_written() {
    let plan = Plan { net: 50_000, day: 3, ..Plan::default() };
    let mut inputs = month(&[plan], &[(0, Fault::UnpaidPart)]).inputs;
    let early = Inputs { statements: Vec::new(), ..inputs.clone() };
    let june = closed(&early, "2026-06");
    // The payment of June is known in July.
    inputs.closings.push(june.clone());
    let july = closed(&inputs, "2026-07");
    let [changed] = july.settled.as_slice() else { panic!("{:?}", july.settled) };
    let [left] = july.differences.as_slice() else { panic!("{:?}", july.differences) };
    assert_eq!((changed.now_minor, changed.posted), (Some(left.difference.amount_minor), left.posted));
    assert_eq!((changed.found.difference.amount_minor, left.difference.amount_minor), (-59_500, -2_000));
    let text = write_closing(&july);
    let first = write_closing(&june);
    let of = |second: &str| read(&[("closings/2026-06.csv", &first), ("closings/2026-07.csv", second)]);
    let books = of(&text).map_err(|report| report.to_string()).unwrap();
    assert_eq!(books.closings, [june, july]);
    let row = text.lines().find(|row| row.starts_with("settled,")).unwrap();
    assert!(row.contains(",-59500,-2000,"), "{row}");
    for now in ["-2001", "", "0"] {
        let told = refused(of(&text.replace(",-59500,-2000,", &format!(",-59500,{now},"))));
        assert!(told.contains("closing_changed"), "{told}");
    }
}

/// What was in transit is kept with all that is told of it.
#[test]
fn what_was_in_transit_is_read_as_it_was_written() {
    let plan = Plan { net: 50_000, ..Plan::default() };
    let june = closed(&month(&[plan.clone(), plan], &[(1, Fault::TransferLessCharges)]).inputs, "2026-06");
    let told: Vec<(i64, u32)> =
        june.in_transit.iter().map(|one| (one.minor, one.document.place.as_ref().unwrap().line)).collect();
    assert_eq!(told, [(3_120_000, 1), (-3_118_500, 1)]);
    let text = write_closing(&june);
    let books = read(&[("closings/2026-06.csv", &text)]).map_err(|report| report.to_string()).unwrap();
    assert_eq!(books.closings, [june]);
    let row = text.lines().find(|row| row.starts_with("transit,")).unwrap();
    let cells: Vec<&str> = row.split(',').collect();
    let mut said = 0;
    for (place, cell) in cells.iter().enumerate().filter(|(_, cell)| !cell.is_empty()) {
        let mut other = cells.clone();
        let longer = format!("{cell}1");
        other[place] = &longer;
        let told = refused(read(&[("closings/2026-06.csv", &text.replace(row, &other.join(",")))]));
        assert!(told.starts_with("closings/2026-06.csv:"), "{told}");
        said += 1;
    }
    assert_eq!(said, 10, "{row}");
}
