//! Transcripts of every command over the demo world.

use std::collections::BTreeSet;
use std::fs;

use crate::book;
use crate::kept;
use crate::month;
use crate::transcript::{bakery, check, golden};
use crate::trial;
use crate::world::{copy, jobs, spoil};

const T: &str = "--tariff tariff";

/// Name and command line of each transcript in the demo world.
fn in_the_demo_world() -> Vec<(String, String)> {
    let mut cases = Vec::new();
    let mut add = |name: &str, line: String| cases.push((name.to_owned(), line));
    for (number, job) in jobs() {
        add(&format!("quote-{number}.txt"), format!("quote {job} {T}"));
        add(&format!("quote-{number}.json"), format!("quote {job} {T} --format json"));
        add(&format!("routes-{number}.txt"), format!("routes {job} {T}"));
    }
    let [two, four, seven, eight, nine, ten, eleven, twelve] = [
        "jobs/02-two-partners.toml",
        "jobs/04-swiss-francs.toml",
        "jobs/07-flat-proofer.toml",
        "jobs/08-floor-scales.toml",
        "jobs/09-floor-refuses.toml",
        "jobs/10-uneconomic.toml",
        "jobs/11-warranty-return.toml",
        "jobs/12-consignment.toml",
    ];
    add("routes-02.json", format!("routes {two} {T} --format json"));
    add("routes-09.json", format!("routes {nine} {T} --format json"));

    for (who, name) in [("customer", "customer"), ("partner:P-BRZEG", "first"), ("partner:P-OLOM", "second")]
    {
        add(&format!("quote-02-{name}.txt"), format!("quote {two} {T} --as {who}"));
        add(&format!("quote-02-{name}.json"), format!("quote {two} {T} --as {who} --format json"));
    }
    add("quote-02-stranger.txt", format!("quote {two} {T} --as partner:P-ASSEN"));
    add("quote-02-nobody.txt", format!("quote {two} {T} --as partners"));
    add("quote-02-direct.txt", format!("quote {two} {T} --route direct"));
    add("quote-02-short-route.txt", format!("quote {two} {T} --route P-BRZEG"));
    add("quote-02-wrong-route.txt", format!("quote {two} {T} --route P-OLOM,P-NONE"));
    add("quote-02-own-route.txt", format!("quote {two} {T} --route P-BRZEG,P-OLOM --as partner:P-BRZEG"));
    add("quote-02-wrong-route.json", format!("quote {two} {T} --route P-OLOM,P-NONE --format json"));
    add("quote-09-customer.json", format!("quote {nine} {T} --as customer --format json"));
    add("quote-04-customer.txt", format!("quote {four} {T} --as customer"));
    add("quote-08-customer.txt", format!("quote {eight} {T} --as customer"));
    add("quote-08-partner.txt", format!("quote {eight} {T} --as partner:P-WOERGL"));
    add("quote-09-customer.txt", format!("quote {nine} {T} --as customer"));
    add("quote-09-direct.txt", format!("quote {nine} {T} --route direct"));
    add("quote-10-back.txt", format!("quote {ten} {T} --offer BACK"));
    add("quote-10-exchange.txt", format!("quote {ten} {T} --offer EXCHANGE"));
    add("quote-10-none.txt", format!("quote {ten} {T} --offer NONE"));
    add("quote-12-carried.txt", format!("quote {twelve} {T} --route P-BRZEG"));
    add("quote-12-drive.txt", format!("quote {twelve} {T} --offer DRIVE"));
    add("quote-12-exchange.txt", format!("quote {twelve} {T} --offer EXCHANGE"));
    add("quote-12-offer.json", format!("quote {twelve} {T} --offer DRIVE --format json"));

    add("explain-02.txt", format!("explain {two} {T}"));
    add("explain-02-customer.txt", format!("explain {two} {T} --as customer"));
    add("explain-02-share.txt", format!("explain {two} share.P-OLOM {T} --depth 2"));
    add(
        "explain-02-share-partner.txt",
        format!("explain {two} share.P-OLOM {T} --as partner:P-OLOM --depth all"),
    );
    add("explain-02-other-share-partner.txt", format!("explain {two} share.P-BRZEG {T} --as partner:P-OLOM"));
    add("explain-02-cost-customer.txt", format!("explain {two} cost.U1/part/FAN-80 {T} --as customer"));
    add("explain-02-misspelt.txt", format!("explain {two} end.nett {T}"));
    add("explain-02-shorthand.txt", format!("explain {two} RELAY-24-4S {T}"));
    add("explain-02-unheard-of.txt", format!("explain {two} the_weather_tomorrow {T}"));
    add("explain-02-result-only.txt", format!("explain {two} end.net {T} --depth 0"));
    add("explain-02-relay.txt", format!("explain {two} net.U1/part/RELAY-24-4S {T} --depth all"));
    add("explain-04-labour.txt", format!("explain {four} net.U1/labour/G3 {T} --depth all"));
    add("explain-04-leg.txt", format!("explain {four} credit.P-OLTEN.leg_out {T} --depth all"));
    add("explain-02-end.txt", format!("explain {two} end.gross {T}"));
    add("explain-02-depth.txt", format!("explain {two} end.gross {T} --depth deep"));
    add("explain-07-end.txt", format!("explain {seven} end.gross {T}"));
    add("explain-08-scaled.txt", format!("explain {eight} share.P-WOERGL {T} --depth 1"));
    add("explain-08-vat.txt", format!("explain {eight} sale.2.gross {T} --depth 3"));
    add("explain-10-back.txt", format!("explain {ten} end.net {T} --offer BACK --depth all"));
    add("explain-11-warranty.txt", format!("explain {eleven} warranty.U1.until {T} --depth all"));
    add("explain-12-courier.txt", format!("explain {twelve} net.U3/courier/leg_in {T} --depth all"));

    add("tariff.txt", "tariff check tariff".to_owned());
    add("tariff.json", "tariff check tariff --format json".to_owned());
    add("tariff-one-edition.txt", "tariff check tariff/2026-01".to_owned());
    add("tariff-missing.txt", "tariff check nowhere".to_owned());

    add("help.txt", "--help".to_owned());
    for command in ["quote", "routes", "explain", "tariff", "demo"] {
        add(&format!("help-{command}.txt"), format!("{command} --help"));
    }
    for command in ["check", "export", "import"] {
        add(&format!("help-tariff-{command}.txt"), format!("tariff {command} --help"));
    }
    for command in ["quotes", "serve", "caller", "audit", "backup", "restore", "reconcile", "close"] {
        add(&format!("help-{command}.txt"), format!("{command} --help"));
    }
    add("help-tariff-publish.txt", "tariff publish --help".to_owned());
    add("help-caller-add.txt", "caller add --help".to_owned());
    add("usage-command.txt", "qoute".to_owned());
    add("usage-job.txt", "quote --tariff tariff".to_owned());
    add("usage-job.json", "quote --format json".to_owned());
    add("usage-option.json", "tariff check tariff --format=json --as office".to_owned());
    add("usage-route.txt", format!("quote {two} {T} --route P-1,,P-2"));
    add("missing.txt", "quote jobs/13.toml --tariff nowhere".to_owned());
    cases
}

/// Name and command line of each transcript in a spoilt copy of it.
const IN_A_SPOILT_WORLD: &[(&str, &str)] = &[
    ("spoilt-tariff.txt", "tariff check tariff"),
    ("spoilt-tariff.json", "tariff check tariff --format json"),
    ("spoilt-gap.txt", "tariff check gap"),
    ("spoilt-gap-quote.txt", "quote jobs/07-flat-proofer.toml --tariff gap --as customer"),
    ("spoilt-job.txt", "quote jobs/02-two-partners.toml --tariff gap"),
    ("spoilt-job-and-tariff.txt", "quote jobs/02-two-partners.toml --tariff tariff"),
    ("spoilt-job.json", "quote jobs/02-two-partners.toml --tariff gap --format json"),
    ("spoilt-catalogue.txt", "quote jobs/01-direct-oven.toml --tariff gap"),
    ("spoilt-day.txt", "quote jobs/12-consignment.toml --tariff gap"),
    ("spoilt-private.txt", "quote jobs/03-reverse-charge.toml --tariff gap"),
    ("spoilt-route.txt", "quote jobs/01-direct-oven.toml --tariff gap --route P-OLTEN,P-NONE"),
    ("spoilt-nothing-charged.txt", "quote jobs/11-warranty-return.toml --tariff gap"),
    ("spoilt-no-agreement.txt", "routes jobs/04-swiss-francs.toml --tariff gap"),
];

#[test]
fn the_demo_world_prices_as_before() {
    for (name, line) in in_the_demo_world() {
        check(&bakery(), &name, &line);
    }
}

#[test]
fn mistakes_are_told_as_before() {
    let dir = copy("spoilt");
    // A tariff that prices, with a gap between two editions.
    crate::world::copy_into(&dir.join("tariff"), &dir.join("gap"));
    spoil(&dir, "gap/2025-07/edition.toml", "until = \"2025-12-31\"", "until = \"2025-12-30\"");
    spoil(
        &dir,
        "gap/2026-07/agreements.csv",
        "A-OLTEN-26,P-OLTEN,2026-01-01,,",
        "A-OLTEN-26,P-OLTEN,2027-01-01,,",
    );
    // A tariff that does not.
    spoil(&dir, "tariff/2026-07/edition.toml", "\"15.75\"", "15.75");
    spoil(&dir, "tariff/2026-07/edition.toml", "weight_step_kg", "weight_stepp_kg");
    spoil(&dir, "tariff/2026-07/parts.csv", "FAN-80", "FAN 80");
    spoil(&dir, "tariff/2025-07/credits.csv", ",38", ",-38");
    // Jobs that cannot be read, or not be priced.
    spoil(&dir, "jobs/02-two-partners.toml", "cycles = 356200", "cycles = \"many\"");
    spoil(&dir, "jobs/02-two-partners.toml", "country = \"SK\"", "country = \"Slovakia\"");
    spoil(&dir, "jobs/01-direct-oven.toml", "family = \"OVEN-D12\"", "family = \"OVEN-D13\"");
    spoil(&dir, "jobs/12-consignment.toml", "2026-09-22", "2024-09-22");
    spoil(&dir, "jobs/03-reverse-charge.toml", "business = true", "business = false");
    // One whose only finding is under warranty.
    let not_covered = "[[units.findings]]\ncode = \"LID-BENT\"\nposition = \"LID\"\n";
    spoil(&dir, "jobs/11-warranty-return.toml", not_covered, "");
    for (name, line) in IN_A_SPOILT_WORLD {
        check(&dir, name, line);
    }
}

#[test]
fn no_transcript_is_left_over() {
    let mut expected: BTreeSet<String> = in_the_demo_world().into_iter().map(|(name, _)| name).collect();
    expected.extend(IN_A_SPOILT_WORLD.iter().map(|(name, _)| (*name).to_owned()));
    expected.extend(["demo.txt", "demo-again.txt", "demo-changed.txt", "demo-forced.txt"].map(str::to_owned));
    expected.extend(kept::TRANSCRIPTS.map(|(name, _)| name.to_owned()));
    expected.extend(month::TRANSCRIPTS.map(|(name, _)| name.to_owned()));
    expected.extend(book::TRANSCRIPTS.map(|(name, _)| name.to_owned()));
    expected.extend(trial::transcripts().into_iter().map(|(name, _)| name.to_owned()));
    expected.extend(trial::WRITTEN.map(|(_, name)| name.to_owned()));
    #[cfg(feature = "pdf")]
    expected.extend(crate::paper::transcripts().into_iter().map(|(name, _)| name.to_owned()));
    let there: BTreeSet<String> = fs::read_dir(golden())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    let left_over: Vec<_> = there.difference(&expected).collect();
    assert!(left_over.is_empty(), "in golden/ and of no command: {left_over:?}");
}
