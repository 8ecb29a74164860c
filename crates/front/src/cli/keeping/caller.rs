//! `evenfare caller`: who may call, by token or certificate.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::sync::Arc;

use chrono::{DateTime, Utc};
use evenfare_engine::nearest::or_nearest;
use evenfare_engine::text::Code;
use evenfare_files::disk_says;
use evenfare_store::Store;
use evenfare_store::caller::{Caller, CredentialKind, Role};
use evenfare_store::command::Command;
use evenfare_store::digest::Digest;
use serde::Serialize;
use tokio_rustls::rustls::pki_types::CertificateDer;
use tokio_rustls::rustls::pki_types::pem::PemObject;

use super::place::{failure, passed_over, random, with_store, with_store_there, written};
use crate::cli::args::Format;
use crate::cli::args::keeping::{AddArgs, ListArgs, Where, WithdrawArgs};
use crate::cli::outcome::{Answer, Failure, json};
use crate::cli::text::{Cell, Column, Page, Table, style};
use crate::editions::read_kept;
use crate::serve::COMMAND_LINE;

/// What a token begins with, so that one is known where it should not be.
const TOKEN: &str = "evenfare_";

/// A caller for programs.
#[derive(Serialize)]
struct Told<'a> {
    name: &'a str,
    role: String,
    credential: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    token: Option<&'a str>,
    added: DateTime<Utc>,
    withdrawn: Option<DateTime<Utc>>,
}

impl<'a> Told<'a> {
    fn new(caller: &'a Caller, token: Option<&'a str>) -> Self {
        Self {
            name: caller.name.as_str(),
            role: caller.role.to_string(),
            credential: caller.kind.code(),
            token,
            added: caller.added,
            withdrawn: caller.withdrawn,
        }
    }
}

/// Adds a caller. His token is made here, shown once, and kept nowhere.
pub(in crate::cli) fn add(args: &AddArgs) -> Result<Answer, Failure> {
    if args.name.as_str() == COMMAND_LINE {
        return Err(Failure::Usage(format!(
            "{COMMAND_LINE} is the name of this command itself; choose another"
        )));
    }
    let (kind, credential, token) = match &args.certificate {
        Some(file) => (CredentialKind::Certificate, certificate(file)?, None),
        None => {
            let token = format!("{TOKEN}{}", random::<32>()?);
            (CredentialKind::Token, Digest::of(token.as_bytes()), Some(token))
        }
    };
    let command = Command::AddCaller { name: args.name.clone(), role: args.role.clone(), kind, credential };
    with_store(&args.place, async |store| {
        written(&store, command).await?;
        let caller = named(&store, args.name.as_str()).await?;
        match args.printed.format {
            Format::Json => json(&Told::new(&caller, token.as_deref())).map(Answer::new),
            Format::Text => {
                let note = match &caller.role {
                    Role::Partner(partner) => unknown_partner(&*store, partner).await?,
                    Role::Office | Role::Accountant => String::new(),
                };
                Ok(Answer::new(added(&caller, token.as_deref())).with_note(note))
            }
        }
    })
}

fn added(caller: &Caller, token: Option<&str>) -> String {
    let mut page = Page::default();
    let who = format!("{} may call now, as {}.", caller.name, caller.role);
    page.paragraph(0, style::PLAIN, &who);
    if let Some(token) = token {
        page.paragraph(0, style::PLAIN, "The token is shown this once and kept nowhere. Calls carry it as");
        page.blank();
        page.drawn(&format!("authorization: Bearer {token}"));
        page.blank();
        page.paragraph(
            0,
            style::CARE,
            "Whoever has it can do what this caller can. Hand it over in a safe way.",
        );
    }
    page.finish()
}

/// A partner whom no published edition knows has no prices yet: perhaps his code is misspelt.
pub(super) async fn unknown_partner(store: &dyn Store, partner: &Code) -> Result<String, Failure> {
    let editions = store.editions().await.map_err(failure)?;
    let mut known = BTreeSet::new();
    for (edition, _) in editions.iter().filter_map(|kept| read_kept(kept).ok()) {
        known.extend(edition.partners().iter().map(|partner| partner.party.code.clone()));
    }
    let mut page = Page::default();
    if !known.contains(partner) {
        let missing = format!("no published edition has a partner {partner}");
        let missing = or_nearest(&missing, partner.as_str(), known.iter().map(Code::as_str));
        page.labelled(style::CARE, "warning", &missing);
    }
    Ok(page.finish())
}

/// The digest of the certificate in a PEM file.
fn certificate(file: &Path) -> Result<Digest, Failure> {
    let shown = file.display();
    let pem = fs::read(file)
        .map_err(|error| Failure::File(format!("cannot read {shown}: {}", disk_says(&error))))?;
    let certificate = CertificateDer::from_pem_slice(&pem)
        .map_err(|error| Failure::File(format!("{shown} is not a certificate in PEM: {error}")))?;
    Ok(Digest::of(&certificate))
}

async fn named(store: &Arc<dyn Store>, name: &str) -> Result<Caller, Failure> {
    let callers = store.callers().await.map_err(failure)?;
    callers
        .into_iter()
        .flatten()
        .find(|caller| caller.name.as_str() == name)
        .ok_or_else(|| Failure::Internal(format!("{name} was written down and is not there")))
}

/// Lists all callers, also those withdrawn.
pub(in crate::cli) fn list(args: &ListArgs) -> Result<Answer, Failure> {
    with_store_there(&args.place, async |store| {
        let (mut callers, mut unreadable) = (Vec::new(), Vec::new());
        for caller in store.callers().await.map_err(failure)? {
            match caller {
                Ok(caller) => callers.push(caller),
                Err(error) => unreadable.push(format!("one may not call: {error}")),
            }
        }
        let text = match args.printed.format {
            Format::Json => {
                let told: Vec<Told<'_>> = callers.iter().map(|caller| Told::new(caller, None)).collect();
                json(&told)?
            }
            Format::Text => table(&callers, &args.place),
        };
        let (note, exit) = passed_over(&unreadable);
        Ok(Answer { exit, ..Answer::new(text).with_note(note) })
    })
}

fn table(callers: &[Caller], place: &Where) -> String {
    let mut table =
        Table::new(0, [Column::TEXT.least(12), Column::LEFT, Column::LEFT, Column::LEFT, Column::LEFT]);
    table.all(style::FAINT, ["name", "role", "by", "added (UTC)", "withdrawn"]);
    let day = |moment: DateTime<Utc>| moment.format("%Y-%m-%d %H:%M").to_string();
    for caller in callers {
        let withdrawn =
            caller.withdrawn.map_or_else(|| Cell::from(""), |at| Cell::styled(day(at), style::BAD));
        table.row([
            caller.name.as_str().into(),
            caller.role.to_string().into(),
            caller.kind.code().into(),
            day(caller.added).into(),
            withdrawn,
        ]);
    }
    let mut page = Page::default();
    if callers.is_empty() {
        page.paragraph(0, style::PLAIN, &format!("Nobody may call. {}.", who_lets_somebody(place)));
    } else {
        page.table(&table);
    }
    page.finish()
}

/// Which command lets somebody call where nobody may.
pub(super) fn who_lets_somebody(place: &Where) -> String {
    format!("`evenfare caller add NAME --role office{}` lets somebody", place.option())
}

/// Lets a caller call no more.
pub(in crate::cli) fn withdraw(args: &WithdrawArgs) -> Result<Answer, Failure> {
    with_store_there(&args.place, async |store| {
        written(&store, Command::WithdrawCaller { name: args.name.clone() }).await?;
        Ok(Answer::new(format!("{} may call no more; a running server knows within a second.\n", args.name)))
    })
}
