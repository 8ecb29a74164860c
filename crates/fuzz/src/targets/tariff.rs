//! Tariff folders: the files of an edition in one case.

use evenfare_files::{Folder, parse_tariff};

use crate::files::{join, split};
use crate::price::holds;
use crate::refused::{is_clear, is_refused_clearly};
use crate::world::{SMALL_JOB, small_edition};

pub fn seeds() -> Vec<Vec<u8>> {
    let below = |folder: &str| -> Vec<u8> {
        let named: Vec<(String, &[u8])> =
            small_edition().map(|(name, text)| (format!("{folder}{name}"), text)).collect();
        join(named.iter().map(|(name, text)| (&**name, *text)))
    };
    vec![below(""), below("2026-07/")]
}

pub fn run(bytes: &[u8]) {
    let files = split(bytes);
    let folder = Folder::from_files("tariff", files.iter().map(|(name, text)| (name.clone(), *text)));
    let named: Vec<(String, &[u8])> =
        files.iter().rev().map(|(name, text)| (format!("tariff/{name}"), *text)).collect();
    let texts = || named.iter().map(|(name, text)| (&**name, *text));
    match parse_tariff(&folder) {
        Err(report) => is_refused_clearly(&report, texts()),
        Ok(tariffs) => {
            is_clear(tariffs.warnings(), texts());
            for edition in tariffs.editions() {
                holds(&SMALL_JOB, edition);
            }
        }
    }
}
