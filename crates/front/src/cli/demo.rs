//! `evenfare demo`: a small world to try things on, and what it prices to.

#[cfg(feature = "pdf")]
mod paper;
#[cfg(feature = "serve")]
mod store;

use std::fs;
use std::path::{Path, PathBuf};

use evenfare_engine::view::Reader;
use include_dir::{Dir, include_dir};

use super::args::{DemoArgs, Format, Sight};
use super::outcome::{Answer, Failure};
use super::output::failed;
use super::text::money::with_currency;
use super::text::quote::{Sheet, page};
use super::text::words::{count, in_a_shell, route};
use super::text::wrap::{cut, width};
use super::text::{Cell, Column, Page, Table, WIDTH, style};
use super::{input, quote, routes};

static WORLD: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/examples/bakery");

/// The job that is shown in full: two partners on the route.
const SHOWCASE: &str = "jobs/02-two-partners.toml";

/// Writes the world, prices its jobs, and names what to try next.
pub(super) fn run(args: &DemoArgs) -> Result<Answer, Failure> {
    let dir = &args.dir;
    let mut text = written(dir, args.force)?;
    let (job, tariff) = (dir.join(SHOWCASE), dir.join("tariff"));
    let input = input::read(&job, &tariff)?;
    let view = input.sight(&Sight::of(Reader::Office))?;
    let currency = quote::currency_of(&view)?;
    text.push('\n');
    let office = Reader::Office;
    text.push_str(&page(Sheet { view: &view, offer: &view.main, reader: &office, currency, kept: None }));
    text.push('\n');
    let routes = routes::answer(&input, Format::Text)?;
    text.push_str(&routes.text);
    text.push('\n');
    text.push_str(&all_jobs(dir)?);
    #[cfg(feature = "pdf")]
    if !args.no_paper {
        text.push_str(&paper::written(dir, jobs().iter().map(|file| file.path()), Path::new(SHOWCASE))?);
    }
    #[cfg(feature = "serve")]
    text.push_str(&store::written(dir, jobs().iter().map(|file| file.path()))?);
    text.push_str(&next(dir));
    Ok(Answer { exit: routes.exit, ..Answer::new(text) })
}

/// Every file of the world, in order.
fn files<'d>(dir: &Dir<'d>) -> Vec<&'d include_dir::File<'d>> {
    let mut files: Vec<_> = dir.files().collect();
    for below in dir.dirs() {
        files.extend(self::files(below));
    }
    files.sort_by_key(|file| file.path());
    files
}

/// The jobs among them.
fn jobs() -> Vec<&'static include_dir::File<'static>> {
    files(&WORLD).into_iter().filter(|file| file.path().starts_with("jobs")).collect()
}

/// Writes the files and says so. Nothing is written where a file of another content is in the way.
fn written(dir: &Path, force: bool) -> Result<String, Failure> {
    let all = files(&WORLD);
    let mut missing = Vec::new();
    let mut changed: Vec<PathBuf> = Vec::new();
    for file in &all {
        let path = dir.join(file.path());
        match fs::read(&path) {
            Ok(content) if content == file.contents() => {}
            Ok(_) => {
                changed.push(path.clone());
                missing.push((path, file));
            }
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => missing.push((path, file)),
            // What cannot even be read is no file that could be overwritten.
            Err(error) => return Err(failed(&path, &error)),
        }
    }
    if let (Some(first), false) = (changed.first(), force) {
        let others = match changed.len() {
            1 => String::new(),
            number => format!(" and {} more", number.saturating_sub(1)),
        };
        let what = format!("{}{others} would be overwritten; nothing was written", first.display());
        return Err(Failure::File(format!("{what}. Name another folder, or add --force")));
    }
    for (path, file) in &missing {
        if let Some(parent) = path.parent() {
            fs::create_dir_all(parent).map_err(|error| failed(parent, &error))?;
        }
        fs::write(path, file.contents()).map_err(|error| failed(path, &error))?;
    }
    let there = all.len().saturating_sub(missing.len());
    let mut page = Page::default();
    let already =
        if there == 0 { String::new() } else { format!(", {} were there already", count(there, "file")) };
    page.paragraph(
        0,
        style::PLAIN,
        &format!(
            "Wrote {} to `{}`{already}. README.md there tells the story of each job.",
            count(missing.len(), "file"),
            dir.display()
        ),
    );
    Ok(page.finish())
}

/// One line for each job.
fn all_jobs(dir: &Path) -> Result<String, Failure> {
    let mut table = Table::new(0, [Column::LEFT, Column::LEFT, Column::RIGHT, Column::TEXT.least(19)]);
    table.all(style::FAINT, ["job", "route", "end price", "to know"]);
    for file in jobs() {
        let input = input::read(&dir.join(file.path()), &dir.join("tariff"))?;
        let job = &input.job;
        let currency = input.currency(input.edition()?);
        let (end, to_know) = match input.by_own_route()? {
            Ok(quote) => {
                let offer = quote.main();
                let flags =
                    offer.map(|offer| offer.flags.iter().map(|flag| flag.code().replace('_', " ")).collect());
                let flags: Vec<String> = flags.unwrap_or_default();
                let end = offer.map(|offer| offer.end.net.minor());
                (end, Cell::styled(flags.join(", "), style::CARE))
            }
            Err(floor) => (Some(floor.end_net.minor()), Cell::styled("refused by route", style::BAD)),
        };
        table.row([
            file.path().file_name().unwrap_or_default().to_string_lossy().into(),
            cut(&route(job.route.iter().map(|stop| &stop.partner)), 16).into(),
            end.map_or_else(String::new, |end| with_currency(end, currency)).into(),
            to_know,
        ]);
    }
    let mut page = Page::default();
    page.title("All jobs of the demo", "end prices before VAT");
    page.table(&table);
    page.blank();
    Ok(page.finish())
}

/// What to try next: commands that work where the demo was asked for.
fn next(dir: &Path) -> String {
    // Whoever started it by cargo has not installed it where a shell looks.
    let program = if std::env::var_os("CARGO").is_some() { "cargo run --" } else { "evenfare" };
    let at = |path: &str| in_a_shell(&dir.join(path).display());
    let tariff = format!("--tariff {}", at("tariff"));
    let (two, twelve) = (at(SHOWCASE), at("jobs/12-consignment.toml"));
    #[cfg(feature = "serve")]
    let store = format!("--database {}", at(store::STORE));
    let mut page = Page::default();
    page.title("To try next", "");
    for words in [
        ["quote", &twelve, &tariff, ""],
        ["quote", &twelve, &tariff, "--offer DRIVE"],
        ["quote", &two, &tariff, "--as partner:P-OLOM"],
        ["quote", &two, &tariff, "--route direct"],
        ["quote", &at("requests/03-reverse-charge.xml"), &tariff, ""],
        ["routes", &at("jobs/09-floor-refuses.toml"), &tariff, ""],
        ["explain", &two, &tariff, ""],
        ["explain", &two, "share.P-OLOM", &tariff],
        #[cfg(feature = "pdf")]
        ["paper", &two, &tariff, "--language pl -o ."],
        ["tariff check", &at("tariff"), "", ""],
        #[cfg(feature = "serve")]
        ["quotes", &store, "", ""],
        #[cfg(feature = "serve")]
        ["quote", "Q-2026-00002", &store, ""],
        #[cfg(feature = "serve")]
        ["reconcile", &at("books"), &format!("{tariff} {store}"), "--month 2026-10"],
        #[cfg(feature = "serve")]
        ["audit", &store, "", ""],
    ] {
        page.drawn(&command(program, &words));
    }
    page.finish()
}

/// A command line, carried on in a second line where the page ends.
fn command(program: &str, words: &[&str]) -> String {
    let mut text = program.to_owned();
    let mut taken = width(&text);
    for word in words.iter().filter(|word| !word.is_empty()) {
        // The backslash needs room as well.
        if taken.saturating_add(width(word)).saturating_add(3) > WIDTH {
            text.push_str(" \\\n ");
            taken = 1;
        }
        text.push(' ');
        text.push_str(word);
        taken = taken.saturating_add(width(word)).saturating_add(1);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_command_is_carried_on_where_the_page_ends() {
        let long = "x".repeat(70);
        assert_eq!(command("evenfare", &["quote", "", "job"]), "evenfare quote job");
        assert_eq!(command("evenfare", &["quote", &long]), format!("evenfare quote \\\n  {long}"));
    }
}
