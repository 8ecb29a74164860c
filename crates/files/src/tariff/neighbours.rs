//! An edition held against those in the folders beside it, before it is written.

use std::fs;
use std::path::Path;

use crate::decode::{Decoded, TARIFF_FILE_LIMIT, decode};
use crate::folder::{EDITION_FILE, read};
use crate::report::{Mistake, Report};
use crate::tariff::between::{Clash, Pair, pairs};
use crate::tariff::edition::Head;
use crate::tariff::sections::{self, Opening};

impl Pair<'_> {
    /// The mistake, told of the earlier one.
    fn at_earlier(&self) -> Mistake {
        let Self { clash, earlier, later } = self;
        let day = match clash {
            Clash::Twins => return earlier.twin_of(later),
            Clash::Overlap => "a day",
            Clash::Gap => "the day",
        };
        let until = earlier.span.until.map(|until| until.to_string()).unwrap_or_default();
        let begin = format!("{day} before {}, when {} begins", later.span.from, later.code);
        earlier.main.mistake("edition.until", clash.says(&until, begin))
    }
}

/// What would be wrong between an edition and those in the folders beside a folder, if it lay in that one; told of
/// the edition, whose `edition.toml` is handed over. What is wrong between the others alone is not told.
///
/// Of each edition no more is read than what it opens with. What is wrong with that is not told either.
pub(crate) fn beside(dir: &Path, decoded: Decoded) -> Report {
    let Some(new) = head(decoded).filter(|_| !is_hidden(dir)) else { return Report::default() };
    let above = dir.parent().filter(|above| !above.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let entries = fs::read_dir(above).into_iter().flatten().flatten();
    let mut folders: Vec<_> = entries.map(|entry| entry.path()).collect();
    folders.sort();
    let others = folders.iter().filter(|folder| !is_hidden(folder)).filter_map(|folder| {
        // As people who stand in that folder write it.
        let path = folder.strip_prefix(".").unwrap_or(folder).join(EDITION_FILE);
        let bytes = path.is_file().then(|| read(&path, TARIFF_FILE_LIMIT).ok()).flatten()?;
        let text = decode(&path.display().to_string(), &bytes, TARIFF_FILE_LIMIT, &mut Report::default())?;
        head(text)
    });
    let others: Vec<_> = others.collect();
    let pairs = pairs(others.iter().chain([&new]).collect());
    let is_new = |head: &Head| std::ptr::eq(head, &new);
    let told = pairs.iter().filter_map(|pair| match (is_new(pair.earlier), is_new(pair.later)) {
        (_, true) => Some(pair.at_later()),
        (true, _) => Some(pair.at_earlier()),
        _ => None,
    });
    told.collect()
}

/// What an edition opens with, where it can be read.
fn head(decoded: Decoded) -> Option<Head> {
    let (sections, main) = sections::read(decoded);
    let Opening { id, span, .. } = sections.opening?;
    Some(Head { code: id, span, main })
}

/// Names that begin with a point are left alone.
fn is_hidden(path: &Path) -> bool {
    path.file_name().is_none_or(|name| name.to_string_lossy().starts_with('.'))
}
