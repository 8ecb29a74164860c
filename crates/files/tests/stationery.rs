//! Letterheads and translations: what is read, and the place of every mistake.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

mod workshop;

use evenfare_engine::language::Language;
use evenfare_files::{
    Catalogue, Folder, Letterhead, LogoKind, Stationery, Translations, edition_files, parse_published,
    parse_tariff,
};
use workshop::{EDITION, LETTERHEAD, LOGO, TEXTS};

fn folder(letterhead: &str, texts: &str, pictures: &[(&str, &[u8])]) -> Folder {
    let tables = EDITION.iter().map(|&(name, text)| (name, text.as_bytes()));
    let written = [("letterhead.toml", letterhead.as_bytes()), ("texts.csv", texts.as_bytes())];
    let pictures = pictures.iter().copied();
    let files = tables.chain(written).chain(pictures);
    Folder::from_files("", files.map(|(name, bytes)| (name, bytes.to_vec())))
}

fn read(letterhead: &str, texts: &str) -> Result<(Stationery, String), String> {
    let tariffs = parse_tariff(&folder(letterhead, texts, &[("mark.svg", LOGO.as_bytes())]));
    let tariffs = tariffs.map_err(|report| report.to_string())?;
    Ok((tariffs.stationery("2026-07").clone(), tariffs.warnings().to_string()))
}

/// What is told of a letterhead with one thing changed.
fn letterhead(from: &str, to: &str, expect: &str) {
    assert!(LETTERHEAD.contains(from), "{from}");
    let told = read(&LETTERHEAD.replacen(from, to, 1), TEXTS);
    let told = told.map_or_else(|report| report, |(_, warnings)| warnings);
    assert_eq!(told, expect, "{to}");
}

/// The same of the translations.
fn texts(from: &str, to: &str, expect: &str) {
    assert!(TEXTS.contains(from), "{from}");
    let told = read(LETTERHEAD, &TEXTS.replacen(from, to, 1));
    let told = told.map_or_else(|report| report, |(_, warnings)| warnings);
    assert_eq!(told, expect, "{to}");
}

#[test]
fn a_sound_letterhead_is_read_whole() {
    let (stationery, warnings) = read(LETTERHEAD, TEXTS).unwrap();
    assert_eq!(warnings, "");
    let letterhead = stationery.letterhead;
    assert_eq!((letterhead.language, letterhead.payment_days), (Language::German, 14));
    assert_eq!(letterhead.legal_name[1].as_str(), "Inhaberin Erika Muster e. K.");
    assert_eq!(letterhead.bank.unwrap().iban.to_string(), "DE02 1203 0000 0000 2020 51");
    assert_eq!(
        (letterhead.accent.to_string(), letterhead.muted.0),
        ("#7a3b12".to_owned(), [0x6b, 0x64, 0x59])
    );
    let logo = letterhead.logo.unwrap();
    assert_eq!((logo.kind, &*logo.bytes), (LogoKind::Svg, LOGO.as_bytes()));
    let german = &letterhead.texts[&Language::German];
    assert_eq!((german.cautions.len(), german.footer.as_ref()), (1, None));
    assert_eq!(german.greeting.as_ref().unwrap().as_str(), "Vielen Dank für Ihren Auftrag.");
    assert!(!letterhead.texts.contains_key(&Language::French));
}

#[test]
fn what_is_not_said_is_left_out() {
    let (stationery, warnings) = read("", "table,code,language,text\n").unwrap();
    let Stationery { letterhead, translations, .. } = stationery;
    assert_eq!((letterhead, translations), (Letterhead::default(), Translations::default()));
    assert_eq!(warnings, "");
    let tariffs = parse_tariff(&folder(LETTERHEAD, TEXTS, &[("mark.svg", LOGO.as_bytes())])).unwrap();
    assert_eq!(*tariffs.stationery("2031-01"), Stationery::default());
}

#[test]
fn mistakes_of_a_letterhead_have_their_places() {
    let iban = "an IBAN whose check digits hold: a country, two digits, then 11 to 30 capitals and digits";
    letterhead(
        "DE02 1203",
        "DE02 1230",
        &format!(
            "letterhead.toml:10:8: error[not_an_iban]: found `DE02 1230 0000 0000 2020 51`, expected {iban}"
        ),
    );
    letterhead(
        "TESTDE99XXX",
        "TESTZZ99",
        "letterhead.toml:11:7: error[not_a_bic]: found `TESTZZ99`, expected a BIC: four capitals or digits, a country, then two or five capitals or digits",
    );
    letterhead(
        "#7a3b12",
        "#7a3b1",
        "letterhead.toml:14:10: error[not_a_colour]: found `#7a3b1`, expected a colour as #rrggbb, two hexadecimal digits each",
    );
    for (name, place, dark, light) in
        [("accent", "14:10", "#7a3b12", "#f5e663"), ("muted", "15:9", "#6b6459", "#818181")]
    {
        let legible = "a colour that is read on white: 0.299 red + 0.587 green + 0.114 blue of at most 128";
        letterhead(
            &format!("{name} = \"{dark}"),
            &format!("{name} = \"{light}"),
            &format!("letterhead.toml:{place}: error[too_light]: found `{light}`, expected {legible}"),
        );
    }
    letterhead(
        "payment_days = 14",
        "payment_days = 3651",
        "letterhead.toml:2:16: error[too_long]: found `3651`, expected at most 3650 days",
    );
    letterhead("payment_days = 14", "payment_days = 3650", "");
    letterhead(
        "logo = ",
        "lego = ",
        "letterhead.toml:16:1: error[unknown_key]: found `lego`, expected one of accent, muted, logo; the nearest: logo",
    );
    letterhead(
        "language = \"de\"",
        "language = \"dk\"",
        "letterhead.toml:1:12: error[unknown_language]: found `dk`, expected a language: en, de, pl, fr or cs",
    );
    letterhead(
        "[texts.de]",
        "[texts.dk]",
        "letterhead.toml:18:8: error[unknown_key]: found `dk`, expected one of en, de, pl, fr, cs",
    );
    letterhead(
        "phone = ",
        "fon = ",
        "letterhead.toml:4:1: error[unknown_key]: found `fon`, expected one of language, payment_days, legal_name, phone, email, web, register, managing_directors, bank, look, texts",
    );
    letterhead(
        "name = \"Musterbank\"\n",
        "",
        "letterhead.toml:8:1: error[missing_key]: found nothing, expected name: one line of at most 200 characters, none of them a control character",
    );
    let long = LETTERHEAD.replacen("Vielen Dank", &"ä".repeat(1_001), 1);
    let told = read(&long, TEXTS).unwrap_err();
    assert!(told.starts_with("letterhead.toml:19:12: error[not_a_paragraph]: found `ää"), "{told}");
}

#[test]
fn what_came_to_be_a_rule_is_worth_a_look_in_what_was_published() {
    let light = LETTERHEAD.replace("#7a3b12", "#f5e663").replace("payment_days = 14", "payment_days = 99999");
    let folder = folder(&light, TEXTS, &[("mark.svg", LOGO.as_bytes())]);
    assert!(parse_tariff(&folder).unwrap_err().has_errors());
    let published = parse_published(&folder).unwrap();
    let told = published.warnings().to_string();
    assert!(told.contains("letterhead.toml:14:10: warning[too_light]: found `#f5e663`"), "{told}");
    assert!(told.contains("letterhead.toml:2:16: warning[too_long]: found `99999`"), "{told}");
    let letterhead = &published.stationery(published.editions()[0].code().as_str()).letterhead;
    assert_eq!((letterhead.accent.to_string().as_str(), letterhead.payment_days), ("#f5e663", 3_650));
    // Any other mistake is one.
    let folder =
        crate::folder(&light.replace("TESTDE99XXX", "TESTZZ99"), TEXTS, &[("mark.svg", LOGO.as_bytes())]);
    let told = parse_published(&folder).unwrap_err().to_string();
    assert!(told.contains("error[not_a_bic]") && told.contains("warning[too_light]"), "{told}");
}

#[test]
fn a_logo_is_there_and_is_a_picture() {
    let told = |name: &str, bytes: &[u8]| {
        let folder = folder(LETTERHEAD, TEXTS, &[(name, bytes)]);
        parse_tariff(&folder).map_or_else(|report| report.to_string(), |_| String::from("taken"))
    };
    let code = |told: String| told.split(": found").next().unwrap().to_owned();
    assert_eq!(told("mark.svg", LOGO.as_bytes()), "taken");
    assert_eq!(code(told("other.svg", LOGO.as_bytes())), "letterhead.toml:16:8: error[missing_logo]");
    assert_eq!(code(told("mark.svg", b"\x89PNG")), "letterhead.toml:16:8: error[not_a_logo]");
    let large = [LOGO.as_bytes(), &vec![b' '; 256 * 1024]].concat();
    assert_eq!(code(told("mark.svg", &large)), "letterhead.toml:16:8: error[logo_too_large]");
}

#[test]
fn mistakes_of_translations_have_their_places() {
    texts(
        "parts,SCREW,",
        "parts,SCREWS,",
        "texts.csv:4:7: error[unknown_code]: found `SCREWS`, expected a code of parts.csv; the nearest: SCREW",
    );
    texts(
        "PANEL/standard",
        "PANEL/major",
        "texts.csv:11:13: error[unknown_code]: found `PANEL/major`, expected family and class of a row of flat_prices.csv, a slash between",
    );
    texts(
        "parts,SCREW,de,Schraube\n",
        "parts,RELAY-4,de,Schraube\n",
        "texts.csv:4:7: error[duplicate_text]: found `RELAY-4`, expected each text once in a language; RELAY-4 has one in `de` already",
    );
    texts(
        "parts,SCREW,de,",
        "parts,SCREW,dk,",
        "texts.csv:4:13: error[unknown_language]: found `dk`, expected a language: en, de, pl, fr or cs",
    );
    texts(
        "parts,SCREW,de,",
        "zones,SCREW,de,",
        "texts.csv:4:1: error[unknown_word]: found `zones`, expected parts, findings, operations, tests, families, extras, grades, flat_prices or alternatives",
    );
    texts(
        "Schraube",
        "",
        "texts.csv:4:16: error[empty_cell]: found nothing, expected text: one line of at most 200 characters, none of them a control character",
    );
}

#[test]
fn a_language_has_all_texts_or_none() {
    let missing =
        "expected each text of the catalogue, or none of them; parts RELAY-4 is the first without one";
    texts(
        "parts,RELAY-4,de,Relais 4 A\n",
        "",
        &format!("texts.csv:1:1: warning[untranslated]: found `de: 1 of 12 texts missing`, {missing}"),
    );
    let missing =
        "expected each text of the catalogue, or none of them; parts CAP-470 is the first without one";
    texts(
        "code,language,text\n",
        "code,language,text\nparts,SCREW,cs,Šroub\n",
        &format!("texts.csv:1:1: warning[untranslated]: found `cs: 11 of 12 texts missing`, {missing}"),
    );
}

/// A table with a row that could not be read may have had the code that is missed.
#[test]
fn what_may_follow_from_other_mistakes_is_not_told() {
    let mut files: Vec<(&str, String)> =
        EDITION.iter().map(|&(name, text)| (name, text.replace("SCREW,Screw", "SCR EW,Screw"))).collect();
    files.push(("texts.csv", TEXTS.to_owned()));
    let report = parse_tariff(&Folder::from_files("", files)).unwrap_err().to_string();
    assert!(report.contains("parts.csv:4:1: error[not_a_code]") && !report.contains("texts.csv"), "{report}");
}

#[test]
fn translations_are_found_by_table_and_code() {
    let (Stationery { translations, .. }, _) = read(LETTERHEAD, TEXTS).unwrap();
    let text = |language, table, code| translations.text(language, table, code);
    assert_eq!(text(Language::German, Catalogue::Parts, "SCREW"), Some("Schraube"));
    assert_eq!(text(Language::German, Catalogue::FlatPrices, "PANEL/standard"), Some("Bedientafel überholt"));
    assert_eq!(text(Language::German, Catalogue::Findings, "SCREW"), None);
    assert_eq!(text(Language::Polish, Catalogue::Parts, "SCREW"), None);
}

/// A job names its alternatives, and a tariff may know these names.
#[test]
fn an_alternative_is_named_in_each_language_or_in_none() {
    let with = |rows: &str| read(LETTERHEAD, &[TEXTS, rows].concat());
    let (stationery, warnings) = with("alternatives,SWAP,de,Tauschgerät\n").unwrap();
    let named = |language| stationery.translations.text(language, Catalogue::Alternatives, "SWAP");
    assert_eq!((named(Language::German), named(Language::Polish)), (Some("Tauschgerät"), None));
    assert_eq!(warnings, "");
    let (_, warnings) = with("alternatives,SWAP,de,Tauschgerät\nalternatives,BACK,pl,Zwrot\n").unwrap();
    let told = "expected each text of the catalogue, or none of them";
    assert_eq!(
        warnings,
        format!(
            "texts.csv:1:1: warning[untranslated]: found `de: 1 of 14 texts missing`, {told}; alternatives BACK is the first without one\n\
             texts.csv:1:1: warning[untranslated]: found `pl: 13 of 14 texts missing`, {told}; parts CAP-470 is the first without one"
        )
    );
    let twice = with("alternatives,SWAP,de,Tauschgerät\nalternatives,SWAP,de,Austausch\n").unwrap_err();
    assert!(twice.contains("error[duplicate_text]: found `SWAP`"), "{twice}");
}

/// Operations stand as the tariff has them, whatever their codes.
#[test]
fn the_order_of_operations_is_kept() {
    let order = |operations: &str| -> Vec<String> {
        let files = EDITION.iter().map(|&(name, text)| {
            let text = if name == "operations.csv" { operations } else { text };
            (name, text.to_owned())
        });
        let tariffs =
            parse_tariff(&Folder::from_files("", files)).map_err(|report| report.to_string()).unwrap();
        tariffs.stationery("2026-07").operations.iter().map(ToString::to_string).collect()
    };
    let (_, rows) = EDITION.iter().find(|(name, _)| *name == "operations.csv").unwrap();
    let own = order(rows);
    let unpack = [*rows, "UNPACK,Unpack,bench,5,yes\n"].concat();
    assert_eq!(order(&unpack), [own.clone(), vec!["UNPACK".to_owned()]].concat());
    let (head, rest) = rows.split_once('\n').unwrap();
    let first = [head, "\nUNPACK,Unpack,bench,5,yes\n", rest].concat();
    assert_eq!(order(&first), [vec!["UNPACK".to_owned()], own].concat());
}

#[test]
fn the_logo_alone_of_all_pictures_is_published() {
    let pictures: &[(&str, &[u8])] = &[("mark.svg", LOGO.as_bytes()), ("other.svg", LOGO.as_bytes())];
    let folder = folder(LETTERHEAD, TEXTS, pictures);
    let files = edition_files(&folder);
    let names: Vec<&str> = files[0].iter().map(|(name, _)| *name).collect();
    assert!(
        ["letterhead.toml", "texts.csv", "mark.svg", "edition.toml"].iter().all(|name| names.contains(name))
    );
    assert!(!names.contains(&"other.svg"));
    let again = Folder::from_files("", files[0].iter().map(|&(name, bytes)| (name, bytes.to_vec())));
    let (before, after) = (parse_tariff(&folder).unwrap(), parse_tariff(&again).unwrap());
    assert_eq!(before.stationery("2026-07"), after.stationery("2026-07"));
}

/// Invoices went out without an account to be paid to.
#[test]
fn a_letterhead_of_another_name_is_worth_a_look() {
    let tables = EDITION.iter().copied().chain([("letterhed.toml", LETTERHEAD)]);
    let tariffs = parse_tariff(&Folder::from_files("", tables)).unwrap();
    assert_eq!(tariffs.stationery("2026-07").letterhead, Letterhead::default());
    assert_eq!(
        tariffs.warnings().to_string(),
        "letterhed.toml: warning[unused_file]: found `letterhed.toml`, expected only files of keys that a tariff has; \
         the nearest: letterhead.toml"
    );
}
