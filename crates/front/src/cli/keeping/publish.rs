//! `evenfare tariff publish`: editions of a folder, into the store.

use evenfare_engine::tariff::Edition;
use evenfare_files::{Folder, edition_files, parse_tariff};
use evenfare_store::command::Command;
use evenfare_store::refused::Refused;
use prost::Message;

use super::place::{failure, with_store, written};
use crate::cli::args::keeping::PublishArgs;
use crate::cli::outcome::{Answer, Failure};
use crate::cli::text::words::count;
use crate::cli::text::{Cell, Column, Page, Table, style};
use crate::editions;
use crate::wire::pb;

/// Publishes each edition of a folder that the store does not have, the earliest first. One that it has
/// already has to be the same, byte for byte.
pub(in crate::cli) fn run(args: &PublishArgs) -> Result<Answer, Failure> {
    let folder = Folder::from_disk(&args.dir);
    // All of it is checked before any of it is published.
    parse_tariff(&folder).map_err(Failure::Mistakes)?;
    let mut editions = Vec::new();
    for files in edition_files(&folder) {
        let file =
            |(name, content): (&str, &[u8])| pb::TariffFile { name: name.into(), content: content.into() };
        let archive = editions::archive(files.into_iter().map(file).collect())
            .map_err(|problems| Failure::Internal(format!("{problems:?}")))?;
        let ((edition, _), _) = editions::read(&archive).map_err(Failure::Mistakes)?;
        editions.push((edition, archive.encode_to_vec()));
    }
    editions.sort_by_key(|(edition, _)| edition.span().from);
    with_store(&args.place, async |store| {
        let kept = store.editions().await.map_err(failure)?;
        let mut table = Table::new(0, [Column::LEFT, Column::TEXT.least(20), Column::LEFT]);
        let mut published = 0_usize;
        for (edition, archive) in editions {
            let known = kept.iter().find(|kept| kept.code == *edition.code());
            let what = match known {
                Some(kept) if kept.archive == archive => Cell::styled("was there", style::FAINT),
                Some(_) => return Err(changed(&edition)),
                None => {
                    written(&store, publish(&edition, archive)).await?;
                    published = published.saturating_add(1);
                    Cell::styled("published", style::STRONG)
                }
            };
            table.row([edition.code().as_str().into(), edition.span().to_string().into(), what]);
        }
        let mut page = Page::default();
        page.table(&table);
        page.blank();
        page.paragraph(0, style::PLAIN, &format!("{} published.", count(published, "edition")));
        Ok(Answer::new(page.finish()))
    })
}

fn publish(edition: &Edition, archive: Vec<u8>) -> Command {
    let span = edition.span();
    Command::Publish {
        code: edition.code().clone(),
        from: span.from,
        until: span.until,
        currency: edition.currency(),
        archive,
    }
}

fn changed(edition: &Edition) -> Failure {
    Failure::BadInput(
        Refused::EditionExists { code: edition.code().clone() }.code(),
        format!(
            "edition {} was published with other files, and an edition is never changed: publish another, under \
         another name, for the days to come",
            edition.code()
        ),
    )
}
