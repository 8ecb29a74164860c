//! The editions in use: read from what was published, and read again when more is.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Arc, PoisonError, RwLock};

use evenfare_engine::period::Span;
use evenfare_engine::problem::{Place, Problem, Severity};
use evenfare_engine::tariff::Edition;
use evenfare_files::{Folder, Mistake, Report, Stationery, Tariffs, parse_published, parse_tariff};
use evenfare_store::digest::Digest;
use evenfare_store::entry::KeptEdition;
use prost::Message;

use crate::wire::{moment, pb};

/// An edition has a few dozen tables; some room for what else lies in its folder.
const MOST_FILES: usize = 256;
/// The form of the archives that this program writes, and the last that it reads. A tariff of a later version may have
/// tables that change a price: its files alone look as if nothing were missing. Whoever adds a table counts one up.
const FORM: u32 = 0;
/// How many characters are told of why one cannot be read: it may be every line of every file.
const LONGEST_WHY: usize = 1_000;

/// An edition, and what documents are written with.
type Whole = (Edition, Stationery);

/// All editions published so far.
#[derive(Debug)]
pub struct Published {
    /// What prices jobs.
    pub tariffs: Arc<Tariffs>,
    /// What is told of each, the earliest first.
    pub told: Vec<pb::TariffEdition>,
}

/// The editions in use. Whoever prices takes them as they are at that moment.
#[derive(Debug)]
pub struct InUse(RwLock<Arc<Published>>);

/// An edition that was published and cannot be read any more: by a defect, or by other hands.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the published edition {code} cannot be read: {why}")]
pub struct UnreadableEdition {
    code: String,
    why: String,
}

impl Published {
    /// Reads all that was published so far; which takes a while. One that cannot be read is told as such, and what it
    /// would price has no price: the others go on.
    pub fn read(kept: &[KeptEdition]) -> Self {
        Self::read_by(kept, read_kept)
    }

    fn read_by(
        kept: &[KeptEdition],
        read: impl Fn(&KeptEdition) -> Result<Whole, UnreadableEdition>,
    ) -> Self {
        let read = |kept| {
            let panicked = |_| kept_unreadable(kept, "a defect of the program: it panicked over it");
            catch_unwind(AssertUnwindSafe(|| read(kept))).map_err(panicked).flatten()
        };
        let (mut told, mut editions, mut unreadable) = (Vec::new(), Vec::new(), Vec::new());
        // One that is open ends where the next begins.
        let ends = kept.iter().skip(1).map(|next| next.from.pred_opt()).chain([None]);
        for (kept, end) in kept.iter().zip(ends) {
            let mut one = pb::TariffEdition::from(kept);
            one.until = one.until.or(end.map(Into::into));
            match read(kept) {
                Ok(whole) => editions.push(whole),
                Err(error) => {
                    one.unreadable = error.why.chars().take(LONGEST_WHY).collect();
                    unreadable.push((kept.code.clone(), span(kept)));
                }
            }
            told.push(one);
        }
        Self { told, tariffs: Arc::new(Tariffs::published(editions).beside_unreadable(unreadable)) }
    }

    /// How many there are.
    pub fn number(&self) -> usize {
        self.told.len()
    }
}

impl InUse {
    /// Nothing published so far.
    pub fn none() -> Self {
        Self(RwLock::new(Arc::new(Published {
            tariffs: Arc::new(Tariffs::published(Vec::new())),
            told: Vec::new(),
        })))
    }

    /// As they are now.
    pub fn now(&self) -> Arc<Published> {
        Arc::clone(&self.0.read().unwrap_or_else(PoisonError::into_inner))
    }

    /// Takes what was published since; fewer than before are an answer that came late.
    pub fn replace(&self, next: Published) {
        let mut now = self.0.write().unwrap_or_else(PoisonError::into_inner);
        if now.number() < next.number() {
            *now = Arc::new(next);
        }
    }
}

/// Reads an edition as it was published, and what documents are written with.
///
/// # Errors
/// [`UnreadableEdition`] where it cannot be read any more.
pub fn read_kept(kept: &KeptEdition) -> Result<Whole, UnreadableEdition> {
    let unreadable = |why: &dyn ToString| kept_unreadable(kept, &why.to_string());
    if let Some(why) = &kept.unread {
        return Err(unreadable(why));
    }
    let archive = pb::TariffArchive::decode(&*kept.archive).map_err(|error| unreadable(&error))?;
    if archive.form > FORM {
        let form = archive.form;
        return Err(unreadable(&format_args!("its form {form} is that of a later version of the program")));
    }
    let (whole, _) = the_one(&archive, parse_published).map_err(|report| unreadable(&report))?;
    let edition = &whole.0;
    let of_files = (edition.code(), edition.span(), edition.currency().code());
    if of_files != (&kept.code, span(kept), kept.currency.as_str()) {
        return Err(unreadable(&"its files are of another edition"));
    }
    Ok(whole)
}

fn kept_unreadable(kept: &KeptEdition, why: &str) -> UnreadableEdition {
    UnreadableEdition { code: kept.code.to_string(), why: why.to_owned() }
}

fn span(kept: &KeptEdition) -> Span {
    Span { from: kept.from, until: kept.until }
}

/// Reads the one edition that the files are, and what documents are written with; what is worth a look comes
/// with them.
///
/// # Errors
/// Every mistake in them.
pub fn read(archive: &pb::TariffArchive) -> Result<(Whole, Report), Report> {
    the_one(archive, parse_tariff)
}

fn the_one(
    archive: &pb::TariffArchive,
    parse: fn(&Folder) -> Result<Tariffs, Report>,
) -> Result<(Whole, Report), Report> {
    // Files of a folder, not folders of files.
    let plain = archive.files.iter().filter(|file| !file.name.contains('/'));
    let folder = Folder::from_files("", plain.map(|file| (file.name.clone(), file.content.clone())));
    let tariffs = parse(&folder)?;
    let warnings = tariffs.warnings().clone();
    let mut editions = tariffs.into_editions();
    match (editions.pop(), editions.is_empty()) {
        (Some(edition), true) => Ok((edition, warnings)),
        _ => Err(warnings),
    }
}

/// The files in the order of their names, so that the same files are the same archive; twice the same
/// name, a name with a folder in it, or more files than an edition has, is a problem.
pub fn archive(mut files: Vec<pb::TariffFile>) -> Result<pb::TariffArchive, Vec<Problem>> {
    // Each is looked for among those before it.
    if files.len() > MOST_FILES {
        let expected = format!("the files of one edition, at most {MOST_FILES}");
        let found = format!("{} files", files.len());
        return Err(vec![Problem::error(Place::field("files"), "too_many_files", found, expected)]);
    }
    let mut problems = Vec::new();
    if !files.iter().any(|file| file.name == "edition.toml") {
        let expected = "all files of one edition, edition.toml among them";
        problems.push(Problem::error(Place::field("files"), "no_edition", "", expected));
    }
    for (index, file) in files.iter().enumerate() {
        let place = || Place::field("files").nth(index).at("name");
        let expected = "a file's name without folders, such as parts.csv, each name once";
        if file.name.is_empty() {
            problems.push(Problem::error(place(), "missing_field", "", expected));
        } else if file.name.contains('/') || file.name.len() > 200 || file.name.contains(char::is_control) {
            let found: String = file.name.chars().filter(|c| !c.is_control()).take(40).collect();
            problems.push(Problem::error(place(), "not_a_file_name", found, expected));
        } else if files.iter().take(index).any(|other| other.name == file.name) {
            problems.push(Problem::error(place(), "duplicate_file", &file.name, expected));
        }
    }
    files.sort_by(|a, b| a.name.cmp(&b.name));
    if problems.is_empty() { Ok(pb::TariffArchive { files, form: FORM }) } else { Err(problems) }
}

/// An edition as it was published, on its way out.
impl From<&KeptEdition> for pb::TariffEdition {
    fn from(kept: &KeptEdition) -> Self {
        Self {
            code: kept.code.to_string(),
            from: Some(kept.from.into()),
            until: kept.until.map(Into::into),
            currency_code: kept.currency.clone(),
            published: kept.published.map(moment),
            publisher: kept.publisher.clone(),
            digest: Digest::of(&kept.archive).to_string(),
            unreadable: String::new(),
        }
    }
}

/// A mistake in a file, on its way out.
impl From<&Mistake> for pb::TariffMistake {
    fn from(mistake: &Mistake) -> Self {
        let number =
            |number: Option<usize>| number.and_then(|number| u32::try_from(number).ok()).unwrap_or(0);
        Self {
            file: mistake.file().to_owned(),
            line: number(mistake.line()),
            column: number(mistake.column()),
            is_error: mistake.severity() == Severity::Error,
            code: mistake.code().to_owned(),
            found: mistake.found().to_owned(),
            expected: mistake.expected().to_owned(),
        }
    }
}

/// The same as a problem, its place in the file as people write it.
pub(crate) fn problem(mistake: &Mistake) -> Problem {
    let mut place = mistake.file().to_owned();
    for number in [mistake.line(), mistake.column()].into_iter().flatten() {
        place.push_str(&format!(":{number}"));
    }
    Problem {
        severity: mistake.severity(),
        ..Problem::error(Place::field(&place), mistake.code(), mistake.found(), mistake.expected())
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic)]
mod tests {
    use std::path::Path;

    use chrono::{DateTime, NaiveDate};

    use super::*;

    /// An edition of the demo world as it was published.
    fn kept(code: &str) -> KeptEdition {
        let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/bakery/tariff").join(code);
        let files = std::fs::read_dir(dir).unwrap().map(|entry| entry.unwrap()).map(|entry| pb::TariffFile {
            name: entry.file_name().into_string().unwrap(),
            content: std::fs::read(entry.path()).unwrap(),
        });
        let archive = archive(files.collect()).unwrap();
        let ((edition, _), _) = read(&archive).unwrap();
        KeptEdition {
            code: edition.code().clone(),
            from: edition.span().from,
            until: edition.span().until,
            unread: None,
            currency: edition.currency().code().to_owned(),
            archive: archive.encode_to_vec(),
            published: Some(DateTime::UNIX_EPOCH),
            publisher: "front-desk".to_owned(),
        }
    }

    fn why(kept: &KeptEdition) -> String {
        read_kept(kept).err().map(|error| error.why).unwrap_or_default()
    }

    #[test]
    fn files_of_a_later_form_are_not_read_without_what_they_add() {
        let mut later = kept("2026-07");
        assert_eq!(why(&later), "");
        let archive = pb::TariffArchive::decode(&*later.archive).unwrap();
        assert_eq!(pb::TariffArchive { form: 0, ..archive.clone() }.encode_to_vec(), later.archive);
        later.archive = pb::TariffArchive { form: FORM + 1, ..archive }.encode_to_vec();
        assert!(why(&later).contains("a later version of the program"), "{}", why(&later));
    }

    /// Its days would be priced by the rates of others.
    #[test]
    fn files_have_to_be_those_of_the_edition() {
        let (whole, other) = (kept("2026-07"), kept("2026-01"));
        let day = NaiveDate::from_ymd_opt(2026, 7, 2).unwrap();
        for wrong in [
            KeptEdition { archive: other.archive, ..whole.clone() },
            KeptEdition { from: day, ..whole.clone() },
            KeptEdition { until: Some(day), ..whole.clone() },
            KeptEdition { currency: "QQQ".to_owned(), ..whole },
        ] {
            assert_eq!(why(&wrong), "its files are of another edition");
        }
    }

    #[test]
    fn a_panic_over_one_edition_closes_no_other() {
        let all = [kept("2025-07"), kept("2026-01"), kept("2026-07")];
        let published = Published::read_by(&all, |kept| {
            assert_ne!(kept.code.as_str(), "2026-01", "a table that no test has");
            read_kept(kept)
        });
        let told: Vec<_> = published.told.iter().map(|one| one.unreadable.as_str()).collect();
        assert_eq!(told, ["", "a defect of the program: it panicked over it", ""]);
        let unreadable: Vec<_> = published.tariffs.unreadable().map(|code| code.as_str()).collect();
        assert_eq!((unreadable, published.tariffs.editions().len()), (vec!["2026-01"], 2));
    }
}
