//! Whole tariff folders, sound and spoiled, with the place of every mistake.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

mod workshop;

use std::path::Path;

use evenfare_engine::problem::Severity;
use evenfare_files::{Folder, parse_tariff};
use workshop::{EDITION, spoiled};

/// The report of a spoiled edition, without the folder's name before each line.
fn check(changes: &[(&str, &str, &str)], expect: &[&str]) {
    let report = match parse_tariff(&spoiled(changes)) {
        Ok(tariffs) => tariffs.warnings().to_string(),
        Err(report) => report.to_string(),
    };
    let lines: Vec<&str> =
        report.lines().map(|line| line.strip_prefix("tariff/2026-07/").unwrap_or(line)).collect();
    assert_eq!(lines, expect, "{changes:?}");
}

#[test]
fn a_sound_tariff_has_nothing_to_report() {
    let tariffs = parse_tariff(&spoiled(&[])).unwrap();
    assert!(tariffs.warnings().is_empty(), "{}", tariffs.warnings());
    assert_eq!(tariffs.editions().len(), 1);
    assert!(tariffs.edition("2026-07").is_some() && tariffs.edition("2026-08").is_none());
    assert!(tariffs.on("2026-07-01".parse().unwrap()).is_some());
    assert!(tariffs.on("2026-12-31".parse().unwrap()).is_some());
    assert!(tariffs.on("2027-01-01".parse().unwrap()).is_none());
}

#[test]
fn all_mistakes_are_reported_at_once_with_line_and_column() {
    check(
        &[
            ("edition.toml", "id = \"2026-07\"", "id = \"2026 07\""),
            ("edition.toml", "until = \"2026-12-31\"", "until = \"31.12.2026\""),
            ("edition.toml", "name = \"Lötwerk\"", "nane = \"Lötwerk\""),
            ("edition.toml", "minimum_charge = \"95.00\"", "minimum_charge = 95.00"),
            ("edition.toml", "flat_covers = [\"part\", \"labour\"", "flat_covers = [\"part\", \"labor\""),
            ("edition.toml", "minutes = 60", "minutes = \"60\""),
            ("edition.toml", "labour = \"42.5\"", "labour = \"42,5\""),
            ("grades.csv", "fitter,Fitter,39.50", "fitter,\"Fitter, ä\",39.505050"),
            ("parts.csv", "7.20,15", "-7.20,1.5"),
            (
                "parts.csv",
                "CAP-470,\"Capacitor 470 µF, 63 V\",pc,1.85",
                "CAP-470,\"Capacitor 470 µF, 63 V\",pcs,1.85",
            ),
            ("parts.csv", "SCREW,Screw,pc,0.03,0,", "SCREW,Screw,pc,0.03,0"),
            ("operations.csv", "20,yes", "20,ja"),
            ("findings.csv", "covered", "Covered"),
            ("extras.csv", "labour test flat", "labour  tests flat pars"),
            ("partners.csv", "DE,DE222222220", "UK,DE222222220"),
            ("agreements.csv", "2026-01-01", "2026-02-30"),
            ("vat_rates.csv", "AT,2016-01-01,,20", "AT,,,20"),
        ],
        &[
            "agreements.csv:2:9: error[not_a_date]: found `2026-02-30`, expected a day of the calendar such as 2026-07-01",
            "edition.toml:2:6: error[not_a_code]: found `2026 07`, expected a code: 1 to 40 characters out of A-Z, a-z, 0-9 and . _ / + -",
            "edition.toml:4:9: error[not_a_date]: found `31.12.2026`, expected 2026-12-31: year, month, day",
            "edition.toml:7:1: error[missing_key]: found nothing, expected name: one line of at most 200 characters, none of them a control character",
            "edition.toml:8:1: error[unknown_key]: found `nane`, expected one of name, street, postcode, city, country, vat_id; the nearest: name",
            "edition.toml:16:18: error[binary_fraction]: found `95.00`, expected the number in quotes; without them it is a binary fraction and loses digits",
            "edition.toml:22:24: error[unknown_word]: found `labor`, expected part, labour, test, courier, flat, exchange, inspection, surcharge, minimum or ending; the nearest: labour",
            "edition.toml:35:11: error[wrong_kind]: found `60`, expected a whole number from 0 to 4294967295, without quotes",
            "edition.toml:46:10: error[not_a_number]: found `42,5`, expected a percentage from 0 to 1000 with at most 4 decimals; a point, not a comma",
            "extras.csv:2:37: error[unknown_word]: found `tests`, expected part, labour, test, courier, flat, exchange, inspection, surcharge, minimum or ending; the nearest: test",
            "extras.csv:2:48: error[unknown_word]: found `pars`, expected part, labour, test, courier, flat, exchange, inspection, surcharge, minimum or ending; the nearest: part",
            "findings.csv:2:34: error[unknown_word]: found `Covered`, expected covered or excluded; the nearest: covered",
            "grades.csv:3:20: error[too_many_decimals]: found `39.505050`, expected a price from 0 to 1000000000 with at most 4 decimals",
            "operations.csv:2:25: error[not_yes_or_no]: found `ja`, expected yes or no",
            "partners.csv:2:52: error[unknown_country]: found `UK`, expected GB, as ISO 3166-1 writes United Kingdom",
            "parts.csv:2:34: error[unknown_word]: found `pcs`, expected pc, set, m, cm, ml or g; the nearest: pc",
            "parts.csv:3:22: error[out_of_range]: found `-7.20`, expected a price from 0 to 1000000000 with at most 4 decimals",
            "parts.csv:3:28: error[not_a_number]: found `1.5`, expected a whole number from 0 to 4294967295",
            "parts.csv:4:1: error[ragged_row]: found `5 cells`, expected 6 cells, as the header has",
            "vat_rates.csv:3:4: error[empty_cell]: found nothing, expected from: a day of the calendar such as 2026-07-01",
        ],
    );
}

#[test]
fn what_the_engine_finds_stands_at_its_cell() {
    check(
        &[
            (
                "parts.csv",
                "code,text,unit,unit_cost,fit_minutes,fit_grade\n",
                "# three parts\n\ncode,text,unit,unit_cost,fit_minutes,fit_grade\n,,,,,\n",
            ),
            ("parts.csv", "63 V\",pc,1.85,6,fitter", "63 \"\"V\"\"\" ,pc, 1.85,6, fittr"),
            ("price_breaks.csv", "CAP-470,10,1.60", "CAP-470,10,1.90"),
            ("finding_steps.csv", "part,CAP-470,,", "part,CAP-471,,"),
            ("families.csv", "DRV-A,Axis drive", "\"DRV-A\",\"Axis\ndrive\""),
            ("agreements.csv", "2026-01-01,,", "2026-01-01,2025-01-01,"),
            ("edition.toml", "grade = \"bench\"", "grade = \"bank\""),
            ("edition.toml", "vat_id = \"DE111111117\"\n", ""),
        ],
        &[
            "agreements.csv:2:20: error[ends_before_it_begins]: found `2025-01-01`, expected a day not before `from`",
            "edition.toml:7:1: error[missing_vat_id]: found nothing, expected a VAT identifier, needed in the European Union",
            "edition.toml:35:9: error[unknown_grade]: found `bank`, expected a code of grades.csv",
            "families.csv:2:9: error[not_a_line]: found `Axis\\ndrive`, expected one line of at most 200 characters, none of them a control character",
            "finding_steps.csv:2:15: error[unknown_part]: found `CAP-471`, expected a code of parts.csv; the nearest: CAP-470",
            "parts.csv:5:51: error[unknown_grade]: found `fittr`, expected a code of grades.csv; the nearest: fitter",
            "price_breaks.csv:2:12: error[dearer_in_bulk]: found `1.9`, expected at most 1.85, what a smaller quantity costs",
        ],
    );
}

#[test]
fn what_may_only_follow_is_held_back() {
    check(
        &[("grades.csv", "fitter,Fitter", "fitt er,Fitter")],
        &[
            "grades.csv:3:1: error[not_a_code]: found `fitt er`, expected a code: 1 to 40 characters out of A-Z, a-z, 0-9 and . _ / + -",
            "tariff: warning[held_back]: 2 more mistakes may follow from these; mend these first",
        ],
    );
    // A reference into a table that was read whole is reported beside the rest.
    check(
        &[("grades.csv", "fitter,Fitter,39.50", "fitter,Fitter,x"), ("parts.csv", "15,fitter", "15,fittr")],
        &[
            "grades.csv:3:15: error[not_a_number]: found `x`, expected a price from 0 to 1000000000 with at most 4 decimals",
            "parts.csv:3:30: error[unknown_grade]: found `fittr`, expected a code of grades.csv; the nearest: fitter",
        ],
    );
}

#[test]
fn headers_are_checked() {
    check(
        &[("zones.csv", "zone,country,postcode_prefix", "zone,land,zone, country")],
        &[
            "zones.csv:1:1: error[missing_column]: found nothing, expected a column postcode_prefix",
            "zones.csv:1:6: error[unknown_column]: found `land`, expected one of zone, country, postcode_prefix",
            "zones.csv:1:11: error[doubled_column]: found `zone`, expected each column once",
            "tariff: warning[held_back]: 4 more mistakes may follow from these; mend these first",
        ],
    );
    // A column that the header lacks is one mistake, whether the rows have it or not.
    check(
        &[("zones.csv", "zone,country,postcode_prefix", "zone,country")],
        &[
            "zones.csv:1:1: error[missing_column]: found nothing, expected a column postcode_prefix",
            "tariff: warning[held_back]: 4 more mistakes may follow from these; mend these first",
        ],
    );
    check(
        &[(
            "grades.csv",
            "code,text,rate_per_hour\nbench,Bench technician,48\nfitter,Fitter,39.50",
            "code,text\nbench,Bench technician\nfitter,Fitter",
        )],
        &["grades.csv:1:1: error[missing_column]: found nothing, expected a column rate_per_hour"],
    );
    check(
        &[("credits.csv", "agreement,work,amount", "agreement;work;amount")],
        &["credits.csv:1:1: error[wrong_separator]: found `;`, expected commas between the columns"],
    );
    check(
        &[("credits.csv", "agreement,work,amount\nA-1,removal,40\n", "# nothing\n")],
        &[
            "credits.csv:1:1: error[missing_header]: found nothing, expected a header row with agreement, work, amount",
        ],
    );
}

#[test]
fn messages_lead_to_the_fix() {
    check(
        &[
            ("grades.csv", "48", "\"48,00\""),
            ("operations.csv", "bench,20,yes", "bench,\"20,0\",yes"),
            ("parts.csv", "\"Capacitor 470 µF, 63 V\"", "Capacitor 470 µF, 63 V"),
            ("extras.csv", "25", "25 %"),
            ("price_breaks.csv", "10,1.60", "10,1.250"),
            ("edition.toml", "from = 2026-07-01", "from = 1.7.2026"),
        ],
        &[
            "edition.toml:3:8: error[toml_syntax]: found `1.7.2026`, expected 2026-07-01: year, month, day",
            "extras.csv:2:26: error[not_a_number]: found `25 %`, expected a percentage from 0 to 1000 with at most 4 decimals; without %",
            "grades.csv:2:24: error[not_a_number]: found `48,00`, expected a price from 0 to 1000000000 with at most 4 decimals; a point, not a comma",
            "operations.csv:2:22: error[not_a_number]: found `20,0`, expected a whole number from 0 to 4294967295; a point, not a comma",
            "parts.csv:2:1: error[ragged_row]: found `7 cells`, expected 6 cells, as the header has; a text with a comma stands in double quotes, a number has a point",
        ],
    );
}

#[test]
fn syntax_errors_of_toml_do_not_hide_the_rest() {
    check(
        &[
            ("edition.toml", "name = \"Lötwerk\"", "name = Lötwerk"),
            ("edition.toml", "ending_to = 5", "ending_to ="),
            (
                "edition.toml",
                "energy_per_kwh = \"0.31\"",
                "energy_per_kwh = \"0.31\"\nenergy_per_kwh = 1\nextra = 1",
            ),
            ("edition.toml", "minutes = 60", "minutes = -60"),
            ("edition.toml", "[terms]", "[terms"),
        ],
        &[
            "edition.toml:8:8: error[toml_syntax]: found `Lötwerk`, expected a value; text stands in quotes",
            "edition.toml:17:12: error[toml_syntax]: found nothing, expected a value; text stands in quotes",
            "edition.toml:24:1: error[toml_syntax]: found `energy_per_kwh`, expected each key once in a table",
            "edition.toml:25:1: error[unknown_key]: found `extra`, expected one of minimum_charge, ending_to, ending_direction, minimum_contribution, minimum_contribution_percent, uneconomic_percent, flat_covers, energy_per_kwh",
            "edition.toml:37:11: error[out_of_range]: found `-60`, expected a whole number from 0 to 4294967295",
            "edition.toml:40:7: error[toml_syntax]: found nothing, expected `]` (unclosed table)",
        ],
    );
    // The list runs to the end of the file; one error says so.
    check(
        &[("edition.toml", "\"test\"]", "\"test\"")],
        &[
            "edition.toml:23:1: error[toml_syntax]: found nothing, expected `,` (missing comma between array elements)",
        ],
    );
}

/// The demo's editions with one file of the middle one changed, or gone.
fn demo_with(file: &str, change: Option<&[u8]>) -> Folder {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/bakery/tariff");
    let mut files = Vec::new();
    for edition in ["2025-07", "2026-01", "2026-07"] {
        for entry in std::fs::read_dir(demo.join(edition)).unwrap() {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            let bytes = match change {
                _ if edition != "2026-01" || name != file => std::fs::read(&path).unwrap(),
                Some(bytes) => bytes.to_vec(),
                None => continue,
            };
            files.push((format!("{edition}/{name}"), bytes));
        }
    }
    Folder::from_files("t", files)
}

#[test]
fn a_table_out_of_reach_is_one_error() {
    for (table, _) in EDITION.iter().filter(|(name, _)| *name != "edition.toml") {
        let mut codes = Vec::new();
        for change in [None, Some(b"\0".as_slice()), Some(b"".as_slice()), Some(b"a;b\n".as_slice())] {
            let report = match parse_tariff(&demo_with(table, change)) {
                Ok(tariffs) => tariffs.warnings().clone(),
                Err(report) => report,
            };
            let mut errors = report.iter().filter(|mistake| mistake.severity() == Severity::Error);
            let error = errors.next();
            assert!(errors.next().is_none(), "{table}: {report}");
            assert!(error.is_none_or(|error| error.file() == format!("t/2026-01/{table}")), "{report}");
            // Whatever follows from it is counted, and nothing else is told.
            if error.is_some() {
                assert!(report.iter().skip(1).count() <= 1, "{table}: {report}");
            }
            codes.push(error.map_or("", |error| error.code()));
        }
        // Nothing refers to these: without them there is less to buy, and that is all.
        let unmissed =
            ["price_breaks.csv", "discounts.csv", "credits.csv", "currency_rates.csv", "texts.csv"];
        let missing = if unmissed.contains(table) { "" } else { "missing_file" };
        assert_eq!(codes, [missing, "not_text", "missing_header", "wrong_separator"], "{table}");
    }
}

#[test]
fn a_row_that_is_set_aside_is_not_missed_once_more() {
    // The operation is there; nobody's grade is what is wrong with it.
    check(
        &[("operations.csv", "CLEAN,Cleaning,bench", "CLEAN,Cleaning,bank")],
        &[
            "operations.csv:2:16: error[unknown_grade]: found `bank`, expected a code of grades.csv",
            "tariff: warning[held_back]: 1 more mistake may follow from these; mend these first",
        ],
    );
    check(
        &[
            ("grades.csv", "bench,Bench technician", "ben ch,Bench technician"),
            ("finding_steps.csv", "operation,CLEAN", "operation,CLEEN"),
        ],
        &[
            "finding_steps.csv:3:20: error[unknown_operation]: found `CLEEN`, expected a code of operations.csv",
            "grades.csv:2:1: error[not_a_code]: found `ben ch`, expected a code: 1 to 40 characters out of A-Z, a-z, 0-9 and . _ / + -",
            "tariff: warning[held_back]: 6 more mistakes may follow from these; mend these first",
        ],
    );
}

#[test]
fn files_are_checked_as_a_whole() {
    let mut files: Vec<(String, Vec<u8>)> =
        EDITION.iter().map(|(name, text)| ((*name).to_owned(), text.as_bytes().to_vec())).collect();
    files.retain(|(name, _)| name != "tests.csv" && name != "credits.csv" && name != "wear.csv");
    for (name, bytes) in &mut files {
        match name.as_str() {
            "grades.csv" => {
                *bytes = "\u{FEFF}code,text,rate_per_hour\r\nbench,Bench,48\r\nfitter,Fitter,x\r\n".into()
            }
            "zones.csv" => *bytes = b"zone,country,postcode_prefix\nDE,D\0,\n".to_vec(),
            "operations.csv" => {
                *bytes = b"code,text,grade,minutes,once\nCLEAN,S\xE4ubern,bench,20,maybe\n".to_vec()
            }
            "extras.csv" => *bytes = vec![b'#'; 16 * 1024 * 1024 + 1],
            _ => {}
        }
    }
    files.push(("Prices.CSV".into(), Vec::new()));
    files.push(("notes.txt".into(), Vec::new()));
    files.push(("old/edition.toml".into(), Vec::new()));
    let report = parse_tariff(&Folder::from_files("t", files)).unwrap_err().to_string();
    let expect = [
        "t/Prices.CSV: warning[unused_file]: found `Prices.CSV`, expected only tables that a tariff has; the nearest: flat_prices",
        "t/extras.csv: error[file_too_large]: found `16777217 bytes`, expected at most 16 MiB",
        "t/grades.csv:3:15: error[not_a_number]: found `x`, expected a price from 0 to 1000000000 with at most 4 decimals",
        "t/old: warning[unused_folder]: found `old`, expected no edition inside an edition",
        "t/operations.csv:2:8: error[invalid_utf8]: found `0xE4 (byte 37)`, expected text in UTF-8; save the file as UTF-8 (in a spreadsheet: CSV UTF-8)",
        "t/operations.csv:2:24: error[not_yes_or_no]: found `maybe`, expected yes or no",
        "t/tests.csv: error[missing_file]: found nothing, expected the table tests.csv",
        "t/wear.csv: error[missing_file]: found nothing, expected the table wear.csv, to which other tables refer",
        "t/zones.csv:2:5: error[not_text]: found `0x00 (byte 34)`, expected text in UTF-8, without zero bytes",
        "t: warning[held_back]: 7 more mistakes may follow from these; mend these first",
    ];
    assert_eq!(report.lines().collect::<Vec<_>>(), expect);
}

#[test]
fn an_edition_has_so_many_rows_at_most() {
    let rows: String = (0..200_001).map(|row| format!("C{row},Cleaning,bench,20,yes\n")).collect();
    let report =
        parse_tariff(&spoiled(&[("operations.csv", "CLEAN,Cleaning,bench,20,yes\n", &rows)])).unwrap_err();
    let too_many: Vec<_> = report.iter().filter(|mistake| mistake.code() == "too_many_rows").collect();
    // Refused where the first row too many stands; the tables read before took six.
    assert_eq!(too_many[0].line(), Some(199_996), "{}", too_many[0].located());
}

#[test]
fn mistakes_of_one_file_are_counted_past_a_thousand() {
    let rows: String = (0..3_000).map(|row| format!("C{row},Cleaning,bench,20,maybe\n")).collect();
    let report =
        parse_tariff(&spoiled(&[("operations.csv", "CLEAN,Cleaning,bench,20,yes\n", &rows)])).unwrap_err();
    let first = report.iter().find(|mistake| mistake.file().ends_with("operations.csv")).unwrap();
    assert!(first.located().to_string().contains("error[too_many_mistakes]: found `2000 more mistakes`"));
}

#[test]
fn many_warnings_stay_warnings() {
    let rows: String = (0..3_000).map(|row| format!("S{row},Screw,pc,0.03,0,\n")).collect();
    let tariffs = parse_tariff(&spoiled(&[(
        "parts.csv",
        "SCREW,Screw,pc,0.03,0,\n",
        &format!("SCREW,Screw,pc,0.03,0,\n{rows}"),
    )]));
    let warnings = tariffs.unwrap().warnings().clone();
    assert!(!warnings.has_errors());
    assert_eq!(warnings.len(), 1_001);
}

/// Editions by `id, from, until` in folders of these names.
fn check_editions(editions: &[(&str, &str, &str, &str)], expect: &[&str]) {
    let mut files = Vec::new();
    for (folder, id, from, until) in editions {
        for (name, text) in EDITION {
            let until = if until.is_empty() { String::new() } else { format!("until = {until}\n") };
            let text = text
                .replace("id = \"2026-07\"", &format!("id = \"{id}\""))
                .replace("from = 2026-07-01\n", &format!("from = {from}\n"))
                .replace("until = \"2026-12-31\"\n", &until);
            files.push((format!("{folder}/{name}"), text));
        }
    }
    let report = match parse_tariff(&Folder::from_files("t", files)) {
        Ok(tariffs) => tariffs.warnings().to_string(),
        Err(report) => report.to_string(),
    };
    let lines: Vec<&str> = report.lines().filter(|line| !line.contains("gap_in_dates")).collect();
    assert_eq!(lines, expect, "{editions:?}");
}

#[test]
fn each_day_has_one_edition() {
    check_editions(&[("b", "B", "2026-07-01", ""), ("a", "A", "2026-01-01", "2026-06-30")], &[]);
    check_editions(
        &[("a", "A", "2026-01-01", "2026-06-29"), ("b", "B", "2026-07-01", "")],
        &[
            "t/b/edition.toml:3:8: warning[gap_between_editions]: found `2026-07-01`, expected the day after 2026-06-29, when A ends",
        ],
    );
    check_editions(
        &[("a", "A", "2026-01-01", "2026-07-01"), ("b", "B", "2026-07-01", "2026-09-30")],
        &[
            "t/b/edition.toml:3:8: error[overlapping_editions]: found `2026-07-01`, expected a day after 2026-07-01, when A ends",
        ],
    );
    // The first runs on past the second.
    check_editions(
        &[("a", "A", "2026-01-01", ""), ("b", "B", "2026-02-01", "2026-02-28"), ("c", "A", "2026-04-01", "")],
        &[
            "t/b/edition.toml:3:8: error[overlapping_editions]: found `2026-02-01`, expected A to end before this begins; it is open",
            "t/c/edition.toml:2:6: error[duplicate_edition]: found `A`, expected another name than that of t/a/edition.toml",
            "t/c/edition.toml:3:8: error[overlapping_editions]: found `2026-04-01`, expected A to end before this begins; it is open",
        ],
    );
}

#[test]
fn a_folder_without_an_edition_is_told() {
    let folder = Folder::from_files("t", [("a/parts.csv", ""), (".git/x.csv", "")]);
    assert_eq!(
        parse_tariff(&folder).unwrap_err().to_string(),
        "t: error[no_edition]: found nothing, expected an edition.toml, in the folder or in a folder below it\n\
         t/a: warning[unused_folder]: found `a`, expected a folder with an edition.toml"
    );
}
