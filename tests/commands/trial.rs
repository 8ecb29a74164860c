//! An edition that is only proposed, tried on the quotes of a store.

use std::fs;
use std::path::Path;

use crate::harness::{Server, World, accept, evenfare, issued, office};
use crate::transcript::{against, check, golden};
use crate::world::{copy, copy_into, jobs, spoil};

const DAYS: &str = "--from 2026-07-01 --until 2026-12-31";

/// Names and command lines, in this order in one folder.
pub fn transcripts() -> Vec<(&'static str, String)> {
    let all = format!("tariff try next {DAYS}");
    vec![
        ("help-tariff-try.txt", "tariff try --help".to_owned()),
        ("trial.txt", all.clone()),
        ("trial.json", format!("{all} --format json")),
        ("trial-accepted.txt", format!("{all} --accepted-only -o accepted.csv")),
        ("trial-file-is-there.txt", format!("{all} -o accepted.csv")),
        ("quotes-alternative.txt", "quotes --state accepted".to_owned()),
        ("trial-no-table.txt", format!("{all} -o each.xlsx")),
        ("trial-each.txt", format!("{all} -o each.csv")),
        ("trial-same.txt", format!("tariff try tariff {DAYS}")),
        ("trial-no-quotes.txt", "tariff try next --from 2024-01-01 --until 2024-12-31".to_owned()),
        ("trial-backwards.txt", "tariff try next --from 2026-12-31 --until 2026-07-01".to_owned()),
        ("trial-no-day.txt", "tariff try next --from July --until 2026-12-31".to_owned()),
        ("trial-mistakes.txt", format!("tariff try broken {DAYS}")),
        ("trial-no-folder.txt", format!("tariff try nowhere {DAYS}")),
        ("trial-no-store.txt", format!("tariff try next {DAYS} --database none.db")),
    ]
}

/// Files that they write and that are kept beside them.
pub const WRITTEN: [(&str, &str); 1] = [("each.csv", "trial-each.csv")];

/// Issues every job of the demo world that can be quoted, has some accepted, and leaves the store in a folder.
async fn issue(dir: &Path) {
    let world = World::new();
    let server = Server::start(&world.database, &[]);
    let mut office = office(&world, &server).await;
    let may = |number: &str| number != "09";
    for (number, file) in jobs().iter().filter(|(number, _)| may(number)) {
        let name = file.strip_prefix("jobs/").and_then(|name| name.strip_suffix(".toml")).unwrap();
        let kept = issued(&mut office, &format!("R-{number}"), name).await;
        let offer = match number.as_str() {
            "01" | "04" => "main",
            "12" => "DRIVE",
            _ => continue,
        };
        office.accept_quote(accept(&format!("A-{number}"), &kept, offer)).await.unwrap();
    }
    let path = |name: &str| dir.join(name).to_str().unwrap().to_owned();
    evenfare(&["backup", &path("backup"), "--database", &world.database]);
    evenfare(&["restore", &path("backup"), "--database", &path("evenfare.db")]);
}

/// The edition for the first half of the next year: cheaper parts, dearer labour, another agreement with one partner,
/// a floor that another's refuses to go below, and a finding less.
fn propose(dir: &Path) {
    copy_into(&dir.join("tariff/2026-07"), &dir.join("next"));
    spoil(dir, "next/edition.toml", "id = \"2026-07\"", "id = \"2027-01\"");
    spoil(dir, "next/edition.toml", "from = \"2026-07-01\"", "from = \"2027-01-01\"");
    spoil(dir, "next/edition.toml", "until = \"2026-12-31\"", "until = \"2027-06-30\"");
    spoil(dir, "next/edition.toml", "part = \"60\"", "part = \"48\"");
    spoil(dir, "next/edition.toml", "labour = \"85\"", "labour = \"97.5\"");
    spoil(dir, "next/edition.toml", "minimum_contribution = \"90\"", "minimum_contribution = \"345\"");
    let (before, after) = ("A-BRZEG-26,P-BRZEG,2026-09-01", "A-BRZEG-27,P-BRZEG,2027-01-01");
    let one_after_the_other = format!("{before},2026-12-31,scale\n{after},,scale");
    spoil(dir, "next/agreements.csv", &format!("{before},,scale"), &one_after_the_other);
    let (scales, refuses) = ("A-OLTEN-26,P-OLTEN,2026-01-01,,scale", "A-OLTEN-26,P-OLTEN,2026-01-01,,refuse");
    spoil(dir, "next/agreements.csv", scales, refuses);
    let discounts =
        ["part,16", "labour,15", "test,11", "flat,13.5"].map(|terms| format!("A-BRZEG-27,{terms}\n"));
    let next = "A-OLOM-25,part,6.5";
    spoil(dir, "next/discounts.csv", next, &format!("{}{next}", discounts.concat()));
    let (next, credits) = ("A-OLOM-25,removal,45", "A-BRZEG-27,leg_in,36\nA-BRZEG-27,leg_out,36");
    spoil(dir, "next/credits.csv", next, &format!("{credits}\n{next}"));
    for file in ["next/findings.csv", "next/finding_steps.csv", "next/texts.csv"] {
        without(&dir.join(file), "FRAME-BROKEN");
    }
}

/// Takes the lines out of a file that name something.
fn without(file: &Path, name: &str) {
    let text = fs::read_to_string(file).unwrap();
    let left: String =
        text.lines().filter(|line| !line.contains(name)).map(|line| format!("{line}\n")).collect();
    assert_ne!(left, text, "{} does not name {name}", file.display());
    fs::write(file, left).unwrap();
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_proposed_edition_is_tried_as_before() {
    let dir = copy("trial");
    issue(&dir).await;
    propose(&dir);
    copy_into(&dir.join("next"), &dir.join("broken"));
    spoil(&dir, "broken/parts.csv", "FAN-80", "FAN 80");
    for (name, line) in transcripts() {
        check(&dir, name, &line);
    }
    for (file, kept) in WRITTEN {
        against(&golden().join(kept), &fs::read_to_string(dir.join(file)).unwrap());
    }
    let part_written = fs::read_dir(&dir)
        .unwrap()
        .any(|entry| entry.unwrap().path().extension().is_some_and(|end| end == "part"));
    assert!(!part_written, "half a file is left");
}
