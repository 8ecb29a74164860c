//! Jobs as TOML and as JSON, sound and spoiled, with the place of every mistake.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

mod workshop;

use evenfare_engine::problem::{Place, Problem};
use evenfare_files::{parse_job, parse_job_for, parse_tariff};
use workshop::{JOB, spoiled};

fn check(name: &str, text: &str, expect: &[&str]) {
    let report = parse_job(name, text).map(|_| String::new()).unwrap_or_else(|report| report.to_string());
    assert_eq!(report.lines().collect::<Vec<_>>(), expect, "{text}");
}

#[test]
fn a_sound_job_is_read() {
    let (job, _) = parse_job("job.toml", JOB).unwrap();
    assert_eq!(job.received.to_string(), "2026-07-14");
    assert_eq!(job.route[0].partner.as_str(), "P-1");
    assert_eq!(job.route[0].takes_over, None);
    assert_eq!(job.units[0].id.as_str(), "U1");
    assert_eq!(job.units[0].parcels[0].length_cm.to_string(), "60");
    assert_eq!(job.units[0].findings[0].quantity.unwrap().to_string(), "2");
}

#[test]
fn all_mistakes_of_a_job_have_their_places() {
    let toml = JOB
        .replace("reference = \"J-1\"", "reference = 'J 1'\nreferrer = \"x\"")
        .replace("received = 2026-07-14", "received = \"14.07.2026\"")
        .replace(
            "[\"P-1\"]",
            "[\"P-1\", \"P 2\", { partner = \"P-3\", takes_over = [\"leg_in\", \"leg_up\"], fee = 1 }, 4]",
        )
        .replace("country = \"DE\"\n", "")
        .replace("business = true", "business = \"yes\"")
        .replace("cycles = 410000", "cycles = -1")
        .replace("height_cm = 30", "height_cm = 30.5")
        .replace("quantity = 2", "quantity = \"2,5\"");
    check(
        "job.toml",
        &toml,
        &[
            "job.toml:1:13: error[not_a_code]: found `J 1`, expected a code: 1 to 40 characters out of A-Z, a-z, 0-9 and . _ / + -",
            "job.toml:2:1: error[unknown_key]: found `referrer`, expected one of reference, received, quoted, dispatch, tax_date, currency, customer, route, extras, units, alternatives",
            "job.toml:3:12: error[not_a_date]: found `14.07.2026`, expected 2026-07-14: year, month, day",
            "job.toml:4:17: error[not_a_code]: found `P 2`, expected a code: 1 to 40 characters out of A-Z, a-z, 0-9 and . _ / + -",
            "job.toml:4:67: error[unknown_word]: found `leg_up`, expected removal, refitting, diagnosis, leg_in or leg_out; the nearest: leg_in, leg_out",
            "job.toml:4:78: error[unknown_key]: found `fee`, expected one of partner, takes_over",
            "job.toml:4:89: error[wrong_kind]: found `4`, expected the code of a partner, or a table with partner and takes_over",
            "job.toml:7:1: error[missing_key]: found nothing, expected country: a country by its two capital letters such as DE",
            "job.toml:10:12: error[wrong_kind]: found `yes`, expected true or false, without quotes",
            "job.toml:16:10: error[out_of_range]: found `-1`, expected a whole number from 0 to 18446744073709551615",
            "job.toml:22:13: error[binary_fraction]: found `30.5`, expected the number in quotes; without them it is a binary fraction and loses digits",
            "job.toml:28:12: error[wrong_kind]: found `2,5`, expected a whole number from 0 to 4294967295, without quotes",
        ],
    );
}

/// The report of a job that the test edition is to price, a change of the sound one.
fn check_for(changes: &[(&str, &str)], expect: &[&str]) {
    let tariffs = parse_tariff(&spoiled(&[])).unwrap();
    let mut text = String::from(JOB);
    for (from, to) in changes {
        assert!(text.contains(from), "{from}");
        text = text.replacen(from, to, 1);
    }
    let read = parse_job_for("job.toml", &text, &tariffs);
    let report = read.map(|_| String::new()).unwrap_or_else(|report| report.to_string());
    assert_eq!(report.lines().collect::<Vec<_>>(), expect, "{changes:?}");
}

#[test]
fn what_the_engine_finds_is_told_with_the_mistakes_of_writing() {
    check_for(&[], &[]);
    check_for(
        &[("\"12.4\"", "\"7,4\""), ("\"DRV-A\"", "\"DRV-X\""), ("\"DEAD-CAP\"", "\"LATE-CAP\"")],
        &[
            "job.toml:13:10: error[unknown_family]: found `DRV-X`, expected a code of families.csv; the nearest: DRV-A",
            "job.toml:23:13: error[not_a_number]: found `7,4`, expected a number from 0 to 1000000 with at most 3 decimals; a point, not a comma",
            "job.toml:26:8: error[unknown_finding]: found `LATE-CAP`, expected a code of findings.csv",
        ],
    );
    // The others keep their places in a list; what was refused is told once.
    check_for(
        &[
            ("[\"P-1\"]", "[\"P 1\", \"P-9\"]"),
            ("[\"URGENT\"]", "[5, \"LATER\"]"),
            ("\"DRV-A\"", "\"DRV A\""),
        ],
        &[
            "job.toml:3:10: error[not_a_code]: found `P 1`, expected a code: 1 to 40 characters out of A-Z, a-z, 0-9 and . _ / + -",
            "job.toml:3:17: error[unknown_partner]: found `P-9`, expected a code of partners.csv; the nearest: P-1",
            "job.toml:4:11: error[wrong_kind]: found `5`, expected a code: 1 to 40 characters out of A-Z, a-z, 0-9 and . _ / + -, in quotes",
            "job.toml:4:14: error[unknown_extra]: found `LATER`, expected a code of extras.csv",
            "job.toml:13:10: error[not_a_code]: found `DRV A`, expected a code: 1 to 40 characters out of A-Z, a-z, 0-9 and . _ / + -",
        ],
    );
}

#[test]
fn what_may_only_follow_from_a_refused_value_is_held_back() {
    // Whose country it is decides whether the identifier is one, and what the parcel costs.
    check_for(
        &[
            ("country = \"DE\"", "country = \"Germany\"\nvat_id = \"AT1\""),
            ("business = true", "business = false"),
        ],
        &[
            "job.toml:9:11: error[unknown_country]: found `Germany`, expected a country by its two capital letters such as DE",
            "job.toml:11:12: error[private_customer]: found `false`, expected true: only businesses are served",
            "job.toml: warning[held_back]: 1 more mistake may follow from these; mend these first",
        ],
    );
    check_for(
        &[("[[units.parcels]]", "[[units.parcel]]"), ("\"1200\"", "1200.50")],
        &[
            "job.toml:12:1: error[no_parcels]: found nothing, expected at least one parcel in the job",
            "job.toml:15:18: error[binary_fraction]: found `1200.50`, expected the number in quotes; without them it is a binary fraction and loses digits",
            "job.toml:19:9: error[unknown_key]: found `parcel`, expected one of id, family, serial, built, cycles, hours, declared_value, task, class, parcels, findings, returned; the nearest: parcels",
        ],
    );
}

#[test]
fn without_a_day_only_that_is_told_which_every_edition_finds_wrong() {
    check_for(
        &[("2026-07-14", "14.07.2026"), ("\"DRV-A\"", "\"DRV-X\"")],
        &[
            "job.toml:2:12: error[toml_syntax]: found `14.07.2026`, expected 2026-07-14: year, month, day",
            "job.toml:13:10: error[unknown_family]: found `DRV-X`, expected a code of families.csv; the nearest: DRV-A",
        ],
    );
    check_for(
        &[("2026-07-14", "2020-07-14"), ("\"DRV-A\"", "\"DRV-X\""), ("\"1200\"", "\"-1\"")],
        &[
            "job.toml:2:12: error[no_edition]: found `2020-07-14`, expected a day that an edition of the tariff prices: 2026-07 (2026-07-01 to 2026-12-31)",
            "job.toml:13:10: error[unknown_family]: found `DRV-X`, expected a code of families.csv; the nearest: DRV-A",
            "job.toml:15:18: error[out_of_range]: found `-1`, expected a price from 0 to 1000000000 with at most 4 decimals",
        ],
    );
}

#[test]
fn a_list_of_tables_has_double_brackets() {
    check_for(
        &[("[[units]]", "[units]"), ("\"URGENT\"", "\"LATER\"")],
        &[
            "job.toml:4:11: error[unknown_extra]: found `LATER`, expected a code of extras.csv",
            "job.toml:12:1: error[wrong_kind]: found `[units]`, expected [[units]], each time anew: a list of tables",
        ],
    );
    check(
        "job.toml",
        &JOB.replace("[[units.findings]]", "[units.findings]"),
        &[
            "job.toml:25:1: error[wrong_kind]: found `[units.findings]`, expected [[units.findings]], each time anew: a list; each entry a table",
        ],
    );
}

#[test]
fn no_message_has_control_characters() {
    check(
        "job.toml",
        &JOB.replace("[customer]", "[\u{1}\tcustomer]"),
        &[
            "job.toml:6:1: error[wrong_kind]: found `a table`, expected a list of tables",
            "job.toml:6:3: error[toml_syntax]: found nothing, expected `]` (unclosed table)",
        ],
    );
}

/// The sound job as JSON.
const JSON: &str = r#"{
  "reference": "J-1", "received": "2026-07-14",
  "route": ["P-1"], "extras": ["URGENT"], "quoted": null,
  "customer": { "name": "Mühle am Bach", "postcode": "25938", "country": "DE", "business": true },
  "units": [{
    "family": "DRV-A", "serial": "0815", "declared_value": "1200", "cycles": 410000, "built": "2016-03-01",
    "parcels": [{ "length_cm": 60, "width_cm": "40.5", "height_cm": 30, "weight_kg": "12.4" }],
    "findings": [{ "code": "DEAD-CAP", "position": "C12", "quantity": 2 }]
  }]
}"#;

#[test]
fn toml_and_json_say_the_same() {
    let toml = parse_job("job.toml", JOB).unwrap().0;
    let json = parse_job("job.JSON", JSON).unwrap().0;
    assert_eq!(toml, json);
}

#[test]
fn json_has_lines_and_columns_too() {
    let json = JSON
        .replace("\"J-1\"", "5")
        .replace("\"extras\": [\"URGENT\"]", "\"extras\": \"URGENT\"")
        .replace("\"business\": true", "\"business\": null, \"vat\": \"\"")
        .replace("\"12.4\"", "12.4");
    check(
        "job.json",
        &json,
        &[
            "job.json:2:16: error[wrong_kind]: found `5`, expected a code: 1 to 40 characters out of A-Z, a-z, 0-9 and . _ / + -, in quotes",
            "job.json:3:31: error[wrong_kind]: found `URGENT`, expected a list; each entry a code: 1 to 40 characters out of A-Z, a-z, 0-9 and . _ / + -",
            "job.json:4:92: error[missing_key]: found `null`, expected business: yes or no; in TOML and JSON true or false",
            "job.json:4:98: error[unknown_key]: found `vat`, expected one of name, street, postcode, city, country, vat_id, business, language; the nearest: vat_id",
            "job.json:7:86: error[binary_fraction]: found `12.4`, expected the number in quotes; without them it is a binary fraction and loses digits",
        ],
    );
}

#[test]
fn whatever_is_no_job_is_refused() {
    check(
        "job.yaml",
        "",
        &["job.yaml: error[unknown_format]: found `yaml`, expected a name that ends in .toml, .json or .xml"],
    );
    check("job.json", "[]", &["job.json:1:1: error[wrong_kind]: found `a list`, expected a table"]);
    check(
        "job.json",
        "{\"reference\": \"J-1\",}",
        &["job.json:1:21: error[json_syntax]: found `}`, expected a key in quotes"],
    );
    let large = format!("#{}", " ".repeat(1024 * 1024));
    check(
        "job.toml",
        &large,
        &["job.toml: error[file_too_large]: found `1048577 bytes`, expected at most 1 MiB"],
    );
    let deep = format!("a = {}", "[".repeat(100_000));
    assert!(parse_job("job.toml", deep).unwrap_err().has_errors());
}

#[test]
fn problems_of_the_engine_are_located() {
    let problem = |place: Place, code| Problem::error(place, code, "x", "y");
    let unit = Place::row("units", 0);
    let problems = vec![
        problem(unit.at("findings").nth(0).at("code"), "a"),
        problem(unit.at("findings").nth(0).at("remark"), "b"),
        problem(Place::field("customer").at("vat_id"), "c"),
        problem(Place::row("route", 0).at("partner"), "d"),
        problem(unit.at("id"), "e"),
        problem(Place::field("nowhere"), "f"),
    ];
    let (_, source) = parse_job("job.toml", JOB).unwrap();
    let report = source.locate(problems.clone()).to_string();
    let places: Vec<&str> = report.lines().filter_map(|line| line.split(": found").next()).collect();
    assert_eq!(
        places,
        [
            "job.toml:1:1: error[f]",
            "job.toml:3:10: error[d]",
            "job.toml:6:1: error[c]",
            "job.toml:12:1: error[e]",
            "job.toml:25:1: error[b]",
            "job.toml:26:8: error[a]",
        ]
    );
    let (_, source) = parse_job("job.json", JSON).unwrap();
    let report = source.locate(problems);
    let places: Vec<_> =
        report.iter().map(|mistake| (mistake.line().unwrap(), mistake.column().unwrap())).collect();
    assert_eq!(places, [(1, 1), (3, 13), (4, 15), (5, 13), (8, 18), (8, 28)]);
}
