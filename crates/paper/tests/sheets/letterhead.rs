//! An invented letterhead.

use evenfare_engine::language::Language;
use evenfare_files::{Bank, Letterhead, LetterheadTexts, Logo, LogoKind, Stationery};

/// A letterhead that says everything a letterhead can.
pub fn stationery() -> Stationery {
    let logo = r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 30"><path d="M2 28 L15 4 L28 28 Z M32 4 H58 V28 H32 Z" fill="#24566b"/></svg>"##;
    let texts = LetterheadTexts {
        greeting: Some("Thank you for sending us your controller.".parse().unwrap()),
        closing: Some("We look forward to your order.".parse().unwrap()),
        footer: Some("Our general terms apply.".parse().unwrap()),
        delivery_note: Some("Keep the crate: it is used for the way back.".parse().unwrap()),
        cautions: vec!["Flour dust: vacuum the cabinet before it is opened.".parse().unwrap()],
    };
    let letterhead = Letterhead {
        language: Language::English,
        legal_name: vec![
            "Werkbank Nord GmbH".parse().unwrap(),
            "Controllers of bakery lines".parse().unwrap(),
        ],
        phone: Some("+49 0000 112233".parse().unwrap()),
        email: Some("office@werkbank.invalid".parse().unwrap()),
        web: Some("werkbank.invalid".parse().unwrap()),
        register: Some("Amtsgericht Nirgendwo, HRB 00000".parse().unwrap()),
        managing_directors: vec!["Ada Beispiel".parse().unwrap()],
        bank: Some(Bank {
            name: "Beispielbank".parse().unwrap(),
            iban: "DE89370400440532013000".parse().unwrap(),
            bic: Some("TESTDE99".parse().unwrap()),
        }),
        payment_days: 14,
        accent: "#24566b".parse().unwrap(),
        muted: "#5c6468".parse().unwrap(),
        logo: Some(Logo { file: "logo.svg".to_owned(), kind: LogoKind::Svg, bytes: logo.as_bytes().into() }),
        texts: [(Language::English, texts)].into(),
    };
    Stationery { letterhead, ..Stationery::default() }
}
