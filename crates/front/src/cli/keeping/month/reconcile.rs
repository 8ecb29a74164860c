//! `evenfare reconcile`: what was agreed, held against what was invoiced and paid.

use std::fs::{self, File};
use std::io::{BufWriter, Write as _};
use std::path::Path;

use chrono::Utc;

use super::done::{done, noted, warnings};
use super::page::page;
use super::told::Told;
use crate::cli::args::Format;
use crate::cli::args::month::ReconcileArgs;
use crate::cli::at_once::at_once;
use crate::cli::outcome::{Answer, Failure, json};
use crate::cli::output::failed;
use crate::cli::text::words::count;
use crate::cli::text::{Page, style};
use crate::month::{Done, NotWritten, Output};

/// Shows differences, questions, accounts and margins. Differences are an answer, not a failure.
pub(in crate::cli) fn reconcile(args: &ReconcileArgs) -> Result<Answer, Failure> {
    let last = args.month.map(evenfare_reconcile::month::Month::last_day).or(args.until);
    if let Some(output) = &args.output {
        free(output)?;
    }
    let today = Utc::now().date_naive();
    let until = last.unwrap_or(today);
    let (done, said) = done(&args.books, until, args.month)?;
    let warnings = warnings(&args.books, &done);
    let wrote = match &args.output {
        None => String::new(),
        Some(output) => written(&done, output)?,
    };
    let text = match args.printed.format {
        Format::Json => json(&Told::new(&done, &warnings)?)?,
        Format::Text => format!("{}{wrote}", page(&done, today)?),
    };
    Ok(Answer::new(text).with_note(format!("{said}{}", noted(&warnings))))
}

/// Is there nothing in the folder? What somebody else wrote is not mixed with what is written now.
fn free(dir: &Path) -> Result<(), Failure> {
    let taken = match fs::read_dir(dir) {
        Ok(mut entries) => entries.next().is_some(),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => false,
        Err(error) => return Err(failed(dir, &error)),
    };
    if taken {
        let there = format!("{} is not empty; nothing was written. Name another folder", dir.display());
        return Err(Failure::File(there));
    }
    Ok(())
}

/// Writes every file that comes out of it, and says so.
fn written(done: &Done, dir: &Path) -> Result<String, Failure> {
    let outputs = Output::all(done)?;
    // To set pages takes longer than all else of it.
    let files = at_once(&outputs, "files written", |output| {
        let path = dir.join(&output.name);
        let folder = path.parent().unwrap_or(dir);
        fs::create_dir_all(folder).map_err(|error| failed(folder, &error))?;
        let file = File::create_new(&path).map_err(|error| failed(&path, &error))?;
        let mut to = BufWriter::new(file);
        let flushed = output.write(done, &mut to).and_then(|()| Ok(to.flush()?));
        flushed.map_err(|error| match error {
            NotWritten::Overflow(error) => error.into(),
            NotWritten::Io(error) => failed(&path, &error),
            NotWritten::NotSet(why) => {
                Failure::BadInput("not_writable", format!("{}: {why}", path.display()))
            }
        })?;
        Ok(1)
    })?;
    let mut page = Page::default();
    let wrote = format!("Wrote {} to {}.", count(files, "file"), dir.display());
    page.paragraph(0, style::PLAIN, &wrote);
    Ok(page.finish())
}
