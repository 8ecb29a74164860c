//! `evenfare tariff export` and `evenfare tariff import`: an edition out to a spreadsheet and back.

use std::path::Path;

use evenfare_files::book::{Change, Imported, NotWritten, read_book, write_book};
use evenfare_files::{Folder, Report};
use serde::Serialize;

use super::args::Format;
use super::args::book::{ExportArgs, ImportArgs};
use super::mistakes::{Told, drawn};
use super::outcome::{Answer, Failure, json};
use super::output::{failed, write_new};
use super::text::words::count;
use super::text::{Column, Page, Table, style};

/// Writes the edition of a folder as a book.
pub(super) fn export(args: &ExportArgs) -> Result<Answer, Failure> {
    if !args.dir.is_dir() {
        return Err(Failure::File(format!("there is no folder {}", args.dir.display())));
    }
    if !args.book.extension().is_some_and(|end| end.eq_ignore_ascii_case("xlsx")) {
        let expected = "expected a name that ends in .xlsx";
        return Err(Failure::Usage(format!("{}: {expected}", args.book.display())));
    }
    let book = write_book(&Folder::from_disk(&args.dir)).map_err(Failure::Mistakes)?;
    write_new(&args.book, &book)?;
    let mut page = Page::default();
    page.paragraph(0, style::PLAIN, &format!("Wrote {} as {}.", args.dir.display(), args.book.display()));
    Ok(Answer::new(page.finish()))
}

/// Makes an edition of a book, and says what was taken otherwise than it stands there.
pub(super) fn import(args: &ImportArgs) -> Result<Answer, Failure> {
    let imported = read_book(&args.book).map_err(Failure::Mistakes)?;
    let beside = imported.write_to(&args.dir).map_err(|why| match why {
        NotWritten::NotEmpty => Failure::File(format!(
            "{} is not empty; nothing was written. Name another folder",
            args.dir.display()
        )),
        NotWritten::Beside(mistakes) => Failure::NotWritten(mistakes, beside_others(&args.dir)),
        NotWritten::Disk(error) => failed(&args.dir, &error),
    })?;
    let mut note = Page::default();
    drawn(&mut note, imported.warnings());
    drawn(&mut note, &beside);
    match args.printed.format {
        Format::Text => Ok(Answer::new(said(&args.dir, &imported)).with_note(note.finish())),
        Format::Json => Ok(Answer::new(json(&Written::of(&imported, &beside))?)),
    }
}

/// What to do about an edition that does not go with those beside it: they may be a tariff, or drafts too.
fn beside_others(dir: &Path) -> String {
    let dir = dir.display();
    format!(
        "{dir} would lie beside editions that it clashes with; nothing was written. Mend the spreadsheet, move aside \
         what is not of the tariff, or name a folder elsewhere to keep a draft"
    )
}

fn said(dir: &Path, imported: &Imported) -> String {
    let mut page = Page::default();
    for edition in imported.tariffs().editions() {
        let files = count(imported.files().count(), "file");
        let (code, days) = (edition.code(), edition.span());
        page.paragraph(
            0,
            style::PLAIN,
            &format!("Wrote edition {code} ({days}) to {}: {files}.", dir.display()),
        );
    }
    for changes in by_reason(imported.changes()) {
        let Some(first) = changes.first() else { continue };
        page.heading(&count(changes.len(), "cell"), &first.why().to_string());
        let mut table = Table::new(2, [Column::LEFT.most(24), Column::TEXT, Column::TEXT]);
        table.all(style::FAINT, ["cell", "found", "taken"]);
        for change in changes {
            table.row([change.place().into(), change.found().into(), change.taken().into()]);
        }
        page.table(&table);
    }
    page.finish()
}

/// The changes of each reason, in the order of the book.
fn by_reason(changes: &[Change]) -> Vec<Vec<&Change>> {
    let mut reasons: Vec<Vec<&Change>> = Vec::new();
    for change in changes {
        let is_same = |others: &&mut Vec<&Change>| others.iter().any(|other| other.why() == change.why());
        match reasons.iter_mut().find(is_same) {
            Some(others) => others.push(change),
            None => reasons.push(vec![change]),
        }
    }
    reasons
}

#[derive(Serialize)]
struct Written<'a> {
    files: Vec<&'a str>,
    changes: Vec<Changed<'a>>,
    warnings: Vec<Told<'a>>,
}

#[derive(Serialize)]
struct Changed<'a> {
    cell: String,
    why: &'static str,
    found: &'a str,
    taken: &'a str,
}

impl<'a> Written<'a> {
    fn of(imported: &'a Imported, beside: &'a Report) -> Self {
        let changed = |change: &'a Change| Changed {
            cell: change.place(),
            why: change.why().code(),
            found: change.found(),
            taken: change.taken(),
        };
        Self {
            files: imported.files().map(|(name, _)| name).collect(),
            changes: imported.changes().iter().map(changed).collect(),
            warnings: imported.warnings().iter().chain(beside).map(Told::from).collect(),
        }
    }
}
