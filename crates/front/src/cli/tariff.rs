//! `evenfare tariff check`: all mistakes of a tariff at once.

use evenfare_engine::problem::Severity;
use evenfare_files::{Report, read_tariff};
use serde::Serialize;

use super::args::{CheckArgs, Format};
use super::exit::Exit;
use super::mistakes::{Told, snippets};
use super::outcome::{Answer, Failure, json};
use super::text::words::count;
use super::text::{Page, style};

/// Reads every file and lists what is wrong.
pub(super) fn check(args: &CheckArgs) -> Result<Answer, Failure> {
    if !args.dir.is_dir() {
        return Err(Failure::File(format!("there is no folder {}", args.dir.display())));
    }
    let report = match read_tariff(&args.dir) {
        Ok(tariffs) => tariffs.warnings().clone(),
        Err(report) => report,
    };
    let editions = report.editions();
    let errors = report.iter().filter(|mistake| mistake.severity() == Severity::Error).count();
    let warnings = report.len().saturating_sub(errors);
    let text = match args.printed.format {
        Format::Json => {
            json(&Checked { editions, errors, warnings, mistakes: report.iter().map(Told::from).collect() })?
        }
        Format::Text => {
            let counts = [count(editions, "edition"), count(errors, "error"), count(warnings, "warning")];
            page(&report, &counts.join(", "))
        }
    };
    let exit = if report.has_errors() { Failure::Mistakes(report).exit() } else { Exit::Fine };
    Ok(Answer { exit, ..Answer::new(text) })
}

fn page(report: &Report, counts: &str) -> String {
    let mut page = Page::default();
    if !report.is_empty() {
        page.drawn(&snippets(report));
        page.blank();
    }
    let kind = if report.has_errors() { style::BAD } else { style::STRONG };
    page.paragraph(0, kind, counts);
    page.finish()
}

#[derive(Serialize)]
struct Checked<'a> {
    editions: usize,
    errors: usize,
    warnings: usize,
    mistakes: Vec<Told<'a>>,
}
