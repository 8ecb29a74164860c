//! Who is told what, and in which words.

use std::collections::BTreeSet;

use evenfare_engine::language::Language;
use evenfare_paper::accounts::{AccountStatement, MarginOverview};
use evenfare_paper::pdf::pdf;
use evenfare_paper::sheet::{Block, Sheet, account_statement, margin_overview};
use evenfare_paper::words::Words;
use evenfare_paper::{figures, workbook};
use evenfare_reconcile::difference::{Difference, Document, Paper, Reason};
use evenfare_reconcile::overview::Overview;
use evenfare_reconcile::told::Told;
use proptest::prelude::*;

use crate::books::{Books, month};
use crate::faults::{self, some_faults};
use crate::looks::{in_the_book, summer};

/// Everything that a sheet says, as one text.
fn all_of(sheet: &Sheet) -> String {
    serde_json::to_string(sheet).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Nobody's statement names another firm, but for the papers that he was sent or sent himself.
    #[test]
    fn a_statement_says_only_what_is_his((plans, faults) in some_faults()) {
        let books = Books::of(&faults::month(&plans, &faults).inputs);
        for (party, currency) in books.accounts() {
            for month in ["2026-06", "2026-07", "2026-08"].map(month) {
                books.with((&party, currency), month, Language::English, |given| {
                    let mut text = all_of(&account_statement(given));
                    let own = given.differences.iter().filter(|one| one.party == party);
                    for document in own.flat_map(|one| &one.documents) {
                        text = text.replace(&*document.number, "");
                    }
                    let others = books.firms.values().filter(|firm| firm.id != party && &*firm.id != "workshop");
                    for other in others {
                        assert!(!text.contains(&*other.id), "{party} reads of {}", other.id);
                        assert!(!text.contains(&*other.name) || given.firm.name == other.name);
                    }
                    for one in books.reconciled.journal.transactions().map(|(one, _)| one) {
                        let theirs = one.source.party.as_ref().is_some_and(|of| *of != party);
                        let document = &*one.source.document;
                        assert!(!theirs || document.contains('/') || !text.contains(document));
                    }
                });
            }
        }
    }
}

/// The reasons under the heading of differences.
fn reasons(sheet: &Sheet) -> Vec<String> {
    let heading = Words::of(Language::English).say("differences");
    let place =
        sheet.blocks.iter().position(|block| matches!(block, Block::Heading { text } if *text == heading));
    let Some(place) = place else { return Vec::new() };
    let tables = sheet.blocks[place..].iter().filter_map(|block| match block {
        Block::Table { groups, .. } => Some(&groups[0].rows),
        _ => None,
    });
    tables.flatten().map(|row| row.cells[1].clone()).collect()
}

#[test]
fn differences_are_told_up_to_the_month_and_only_where_they_are_handed_in() {
    let books = Books::of(&summer());
    let (party, eur) = ("P-10".into(), "EUR".parse().unwrap());
    let words = Words::of(Language::English);
    let told = |of: &str, differences: bool| {
        books.with((&party, eur), month(of), Language::English, |given| {
            let none = Told::default();
            let differences = if differences { given.differences } else { &none };
            reasons(&account_statement(&AccountStatement { differences, ..*given }))
        })
    };
    assert_eq!(told("2026-05", true), Vec::<String>::new());
    assert_eq!(told("2026-06", true), [words.reason(Reason::ShareBelow), words.reason(Reason::Unpaid)]);
    // A line of what he charged says no category: VAT where none is due is of another one.
    let july = [Reason::ShareBelow, Reason::Unpaid, Reason::VatCategory, Reason::Overpaid];
    assert_eq!(told("2026-07", true), july.map(|reason| words.reason(reason)));
    assert_eq!(told("2026-07", false), Vec::<String>::new());
}

#[test]
fn every_reason_has_words_of_its_own_in_every_language() {
    for &language in Language::ALL {
        let words = Words::of(language);
        let told: BTreeSet<String> = Reason::ALL.iter().map(|reason| words.reason(*reason)).collect();
        assert_eq!(told.len(), Reason::ALL.len(), "{language}");
        for text in told {
            assert!(text.ends_with('.') && text.contains(' ') && !text.contains('_'), "{language}: {text}");
        }
    }
}

/// What was paid in advance for a quote that was taken back is no invoice's.
#[test]
fn money_in_advance_is_told_in_words_of_its_own() {
    let document = |paper, number: &str| Document { paper, number: number.into(), place: None };
    for &language in Language::ALL {
        let words = Words::of(language);
        let told = |papers: &[Paper]| {
            words.differs(&Difference {
                day: "2026-06-30".parse().unwrap(),
                reason: Reason::Overpaid,
                quote: Some("Q-2026-0001".into()),
                party: "P-10".into(),
                currency: "EUR".parse().unwrap(),
                amount_minor: 5_000,
                agreed_minor: None,
                documents: papers.iter().map(|paper| document(*paper, "1")).collect(),
            })
        };
        assert_eq!(told(&[Paper::Quote, Paper::Invoice, Paper::Payment]), words.reason(Reason::Overpaid));
        let in_advance = told(&[Paper::Quote, Paper::Payment]);
        assert!(
            Reason::ALL.iter().all(|reason| words.reason(*reason) != in_advance),
            "{language}: {in_advance}"
        );
    }
}

#[test]
fn a_month_that_is_not_closed_says_so() {
    let books = Books::of(&summer());
    let (party, eur) = ("P-10".into(), "EUR".parse().unwrap());
    for &language in Language::ALL {
        books.with((&party, eur), month("2026-06"), language, |given| {
            assert_eq!(account_statement(given).mark, None);
            let open = account_statement(&AccountStatement { is_closed: false, ..*given });
            assert_eq!(open.mark, Some(Words::of(language).say("provisional")));
        });
        books.with_overview(&books.reconciled.overview, language, |given| {
            let said = Words::of(language).say("provisional");
            let open = MarginOverview { is_closed: false, ..*given };
            for (given, mark) in [(given, None), (&open, Some(&said))] {
                let sheet = margin_overview(given).unwrap();
                assert_eq!(sheet.mark.as_ref(), mark);
                assert_eq!(sheet.facts[0].name, Words::of(language).say("date"));
                assert_eq!(sheet.facts[0].value, figures::date(language, given.until));
                let book = in_the_book(&workbook::margin_overview(given).unwrap());
                assert_eq!(book.contains(&said), mark.is_some());
            }
        });
    }
}

/// "The account is settled" stood above a list of differences, and nobody knew whether they were owed.
#[test]
fn differences_are_said_to_be_beside_the_balance() {
    let books = Books::of(&summer());
    let (party, eur) = ("P-10".into(), "EUR".parse().unwrap());
    let asked = [
        "Nothing in this list is added to the balance above. Please check each item, and correct it or tell us what \
         is right.",
        "Nichts in dieser Liste kommt zum obigen Saldo hinzu. Bitte prüfen Sie jeden Punkt, und berichtigen Sie ihn \
         oder antworten Sie uns.",
        "Żadna z pozycji tej listy nie jest doliczana do powyższego salda. Prosimy o sprawdzenie każdej pozycji oraz o \
         jej poprawienie lub odpowiedź.",
        "Rien de cette liste ne s’ajoute au solde ci-dessus. Merci de vérifier chaque point, puis de le corriger ou de \
         nous répondre.",
        "Nic z tohoto seznamu se k výše uvedenému zůstatku nepřičítá. Zkontrolujte prosím každou položku a opravte ji, \
         nebo nám odpovězte.",
    ];
    for (&language, asked) in Language::ALL.iter().zip(asked) {
        let heading = Words::of(language).say("differences");
        books.with((&party, eur), month("2026-06"), language, |given| {
            let sheet = account_statement(given);
            let mut below = sheet
                .blocks
                .iter()
                .skip_while(|block| !matches!(block, Block::Heading { text } if *text == heading));
            assert!(matches!(below.nth(1), Some(Block::Text { text, .. }) if text == asked), "{language}");
            assert!(in_the_book(&workbook::account_statement(given).unwrap()).contains(asked), "{language}");
            let none = AccountStatement { differences: &Told::default(), ..*given };
            assert!(!all_of(&account_statement(&none)).contains(asked), "{language}");
        });
    }
}

#[test]
fn the_same_books_give_the_same_bytes() {
    let books = Books::of(&summer());
    let (party, eur) = ("P-10".into(), "EUR".parse().unwrap());
    books.with((&party, eur), month("2026-06"), Language::French, |given| {
        let sheet = account_statement(given);
        assert!(pdf(&sheet, &[]).unwrap() == pdf(&sheet, &[]).unwrap());
        let book = || workbook::account_statement(given).unwrap();
        assert!(book() == book());
    });
    books.with_overview(&books.reconciled.overview, Language::Czech, |given| {
        let sheet = margin_overview(given).unwrap();
        assert!(pdf(&sheet, &[]).unwrap() == pdf(&sheet, &[]).unwrap());
        let book = || workbook::margin_overview(given).unwrap();
        assert!(book() == book());
    });
}

#[test]
fn an_overview_of_nothing_says_so() {
    let books = Books::of(&summer());
    for &language in Language::ALL {
        books.with_overview(&Overview::default(), language, |given| {
            let sheet = margin_overview(given).unwrap();
            let [Block::Text { text, .. }] = sheet.blocks.as_slice() else { panic!("{:?}", sheet.blocks) };
            assert!(text.contains("2026") && text.ends_with('.'), "{text}");
            assert!(workbook::margin_overview(given).is_ok());
        });
    }
}
