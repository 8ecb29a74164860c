//! `letterhead.toml`, and the logo beside it.

use std::collections::BTreeMap;

use evenfare_engine::language::Language;
use evenfare_engine::text::Text;

use crate::decode::Decoded;
use crate::fields::Fields;
use crate::letterhead::{Bank, Colour, Letterhead, LetterheadTexts, Logo};
use crate::log::Log;
use crate::node::{Kind, Node};
use crate::picture::{EXPECTED as A_PICTURE, MOST_BYTES, kind_of};
use crate::toml_tree;

/// Reads the letterhead; `file` hands out a file of its folder: whether it is there, and what is in it where
/// it could be read.
pub(super) fn read<'f>(
    decoded: Decoded,
    file: impl Fn(&str) -> Option<Option<&'f [u8]>>,
) -> (Option<Letterhead>, Log) {
    let Decoded { text, mut log } = decoded;
    let root = toml_tree::parse(&text, &mut log);
    let letterhead = letterhead(&root, &mut log, file);
    (letterhead, log)
}

/// The name of the logo's file, where the letterhead names one.
pub(super) fn logo_name(decoded: Decoded) -> Option<String> {
    let Decoded { text, mut log } = decoded;
    let root = toml_tree::parse(&text, &mut log);
    let mut fields = Fields::of(&root, &mut log)?;
    match &Fields::of(fields.node("look")?, fields.log)?.node("logo")?.kind {
        Kind::Text(name) => Some(name.to_string()),
        _ => None,
    }
}

fn letterhead<'f>(
    root: &Node,
    log: &mut Log,
    file: impl Fn(&str) -> Option<Option<&'f [u8]>>,
) -> Option<Letterhead> {
    let usual = Letterhead::default();
    let mut fields = Fields::of(root, log)?;
    let language: Option<Option<Language>> = fields.need("language");
    let payment_days = payment_days(&mut fields);
    let legal_name = fields.or_default("legal_name");
    let phone = fields.need("phone");
    let email = fields.need("email");
    let web = fields.need("web");
    let register = fields.need("register");
    let managing_directors = fields.or_default("managing_directors");
    let bank = table(&mut fields, "bank", |fields| {
        let (name, iban, bic) = (fields.need("name"), fields.need("iban"), fields.need("bic"));
        Some(Bank { name: name?, iban: iban?, bic: bic? })
    });
    let look = table(&mut fields, "look", |fields| {
        let (accent, muted) = (ink(fields, "accent"), ink(fields, "muted"));
        let logo = match fields.node("logo") {
            Some(node) => logo(node, fields.log, file).map(Some),
            None => Some(None),
        };
        Some((accent?, muted?, logo?))
    });
    let texts = table(&mut fields, "texts", |fields| {
        let mut texts = BTreeMap::new();
        for &language in Language::ALL {
            if let Some(own) = table(fields, language.word(), own_texts)? {
                texts.insert(language, own);
            }
        }
        Some(texts)
    });
    fields.finish();
    let (accent, muted, logo) = look?.unwrap_or_default();
    Some(Letterhead {
        language: language?.unwrap_or(usual.language),
        payment_days: payment_days?.unwrap_or(usual.payment_days),
        legal_name: legal_name?,
        phone: phone?,
        email: email?,
        web: web?,
        register: register?,
        managing_directors: managing_directors?,
        bank: bank?,
        accent: accent.unwrap_or(usual.accent),
        muted: muted.unwrap_or(usual.muted),
        logo,
        texts: texts?.unwrap_or_default(),
    })
}

/// As long as a tariff may have anybody wait.
const MOST_DAYS: u32 = 3_650;

/// The code of the mistake that an invoice would be due later than that.
pub(super) const TOO_LONG: &str = "too_long";

/// After how many days an invoice is due. Of more than there may be the most is taken, as of a colour that is too light.
fn payment_days(fields: &mut Fields) -> Option<Option<u32>> {
    let days: Option<u32> = fields.need("payment_days")?;
    if let (Some(long), Some(node)) = (days.filter(|days| *days > MOST_DAYS), fields.node("payment_days")) {
        let expected = format!("at most {MOST_DAYS} days");
        fields.log.error(node.bytes.clone(), TOO_LONG, &long.to_string(), expected);
    }
    Some(days.map(|days| days.min(MOST_DAYS)))
}

fn own_texts(fields: &mut Fields) -> Option<LetterheadTexts> {
    let greeting = fields.need("greeting");
    let closing = fields.need("closing");
    let footer = fields.need("footer");
    let delivery_note = fields.need("delivery_note");
    let cautions = fields.or_default("cautions");
    Some(LetterheadTexts {
        greeting: greeting?,
        closing: closing?,
        footer: footer?,
        delivery_note: delivery_note?,
        cautions: cautions?,
    })
}

/// A table that may be left out, its fields taken by a function, the rest of them reported.
fn table<T>(
    fields: &mut Fields,
    name: &'static str,
    take: impl FnOnce(&mut Fields) -> Option<T>,
) -> Option<Option<T>> {
    let Some(node) = fields.node(name) else { return Some(None) };
    let mut fields = Fields::of(node, fields.log)?;
    let taken = take(&mut fields);
    fields.finish();
    taken.map(Some)
}

/// The code of the mistake that a colour is not read on white.
pub(super) const TOO_LIGHT: &str = "too_light";

/// A colour that words are printed in. One that is too light is taken all the same: it is a mistake of a folder
/// that is to be published, and no reason to lose what was published before it was one.
fn ink(fields: &mut Fields, name: &'static str) -> Option<Option<Colour>> {
    let colour: Option<Colour> = fields.need(name)?;
    if let (Some(light), Some(node)) = (colour.filter(|colour| !colour.is_legible()), fields.node(name)) {
        let expected = "a colour that is read on white: 0.299 red + 0.587 green + 0.114 blue of at most 128";
        fields.log.error(node.bytes.clone(), TOO_LIGHT, &light.to_string(), expected);
    }
    Some(colour)
}

/// The picture whose file is named there.
fn logo<'f>(node: &Node, log: &mut Log, file: impl Fn(&str) -> Option<Option<&'f [u8]>>) -> Option<Logo> {
    let name = <Text as crate::value::Value>::read(node, log)?;
    let mut refuse = |code, expected: String| {
        log.error(node.bytes.clone(), code, name.as_str(), expected);
        None
    };
    match file(name.as_str()) {
        None => refuse("missing_logo", String::from("a file beside letterhead.toml, ending in .svg or .png")),
        Some(Some(bytes)) if bytes.len() <= MOST_BYTES => match kind_of(name.as_str(), bytes) {
            Some(kind) => Some(Logo { file: name.into(), kind, bytes: bytes.into() }),
            None => refuse("not_a_logo", String::from(A_PICTURE)),
        },
        Some(_) => {
            let most = MOST_BYTES.checked_div(1024).unwrap_or(0);
            refuse("logo_too_large", format!("a file of at most {most} KiB that can be read"))
        }
    }
}
