//! What a person sees in a terminal.
#![allow(clippy::unwrap_used)]

mod workshop;

use evenfare_files::{Report, parse_job, parse_tariff};
use miette::{GraphicalReportHandler, GraphicalTheme};
use workshop::spoiled;

fn picture(report: &Report) -> String {
    let mut picture = String::new();
    let handler = GraphicalReportHandler::new_themed(GraphicalTheme::unicode_nocolor()).with_width(100);
    handler.render_report(&mut picture, &report.with_snippets()).unwrap();
    picture.lines().map(|line| line.trim_end().to_owned() + "\n").collect()
}

#[test]
fn mistakes_are_shown_in_their_lines() {
    let changes =
        [("parts.csv", "7.20,15,fitter", "7.20,15,fittr"), ("extras.csv", "labour test", "labour tests")];
    let folder = spoiled(&changes);
    let report = parse_tariff(&folder).unwrap_err();
    assert_eq!(
        picture(&report),
        "  × 2 errors

Error: unknown_word

  × found `tests`, expected part, labour, test, courier, flat, exchange, inspection, surcharge,
  │ minimum or ending; the nearest: test
   ╭─[tariff/2026-07/extras.csv:2:36]
 1 │ code,text,percent,categories
 2 │ URGENT,Taken out of turn,25,labour tests flat
   ·                                    ─────
   ╰────

Error: unknown_grade

  × found `fittr`, expected a code of grades.csv; the nearest: fitter
   ╭─[tariff/2026-07/parts.csv:3:30]
 2 │ CAP-470,\"Capacitor 470 µF, 63 V\",pc,1.85,6,fitter
 3 │ RELAY-4,Relay 4 A,pc,7.20,15,fittr
   ·                              ─────
 4 │ SCREW,Screw,pc,0.03,0,
   ╰────
"
    );
    let folder = evenfare_files::Folder::from_files("t", [("a/edition.toml", "")]);
    assert!(picture(&parse_tariff(&folder).unwrap_err()).contains("help: in t/a/parts.csv"));
}

#[test]
fn long_lines_are_shown_in_part() {
    let padding = "ä".repeat(2_000);
    let job =
        format!("{{\"customer\": {{\"street\": \"{padding}\", \"town\": \"x\", \"city\": \"{padding}\"}}}}");
    let report = parse_job("job.json", job).unwrap_err();
    let shown = picture(&report);
    assert!(shown.contains("job.json:1:2029"), "{shown}");
    assert!(
        shown.lines().filter(|line| line.contains(['│', '·'])).all(|line| line.chars().count() <= 80),
        "{shown}"
    );
    let parcels = "{ length_cm = 60, width_cm = 40, height_cm = 30, weight_kg = \"12.4\" }, ".repeat(4);
    let job = format!("[[units]]\nparcels = [{parcels}{{ length_cm = \"6,5\" }}]\n");
    let picture = picture(&parse_job("job.toml", job).unwrap_err());
    assert!(
        picture.contains(
            "
   ╭─[job.toml:2:310]
 2 │ _cm = 40, height_cm = 30, weight_kg = \"12.4\" }, { length_cm = \"6,5\" }]
   ·                                                               ─────
   ╰────
"
        ),
        "{picture}"
    );
}

#[test]
fn what_was_held_back_closes_the_report() {
    let changes =
        [("parts.csv", "1.85", "1.8x"), ("operations.csv", "CLEAN,Cleaning,bench", "CLEAN,Cleaning,bank")];
    let picture = picture(&parse_tariff(&spoiled(&changes)).unwrap_err());
    assert!(picture.starts_with("  × 2 errors\n"), "{picture}");
    assert!(
        picture.ends_with("\nWarning:\n  ⚠ 2 more mistakes may follow from these; mend these first\n"),
        "{picture}"
    );
}

#[test]
fn a_file_cannot_steer_the_terminal() {
    let report =
        parse_job("job\u{1b}[2J.toml", "reference = '\u{1b}[31m'\nx = \"\u{202E}\u{9b}2J\"").unwrap_err();
    let shown = picture(&report) + &report.to_string();
    assert!(!shown.contains(['\u{1b}', '\u{202E}', '\u{9b}']), "{shown:?}");
}
