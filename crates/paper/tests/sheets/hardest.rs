//! The hardest that a job can ask of a page: names without a space, sixty lines, money of all shapes.

use evenfare_engine::category::Category;
use evenfare_engine::language::Language;
use evenfare_engine::quote::{Draft, Line, Quote};
use evenfare_engine::view::View;
use evenfare_paper::pdf::{NotSet, pdf, set};
use evenfare_paper::sheet::{Block, PAGE, PAGES, Sheet};
use typst::layout::Abs;

use crate::pages::{
    check_no_heading_ends_a_page, check_nothing_overflows, check_pages_are_filled, check_rows_stand_together,
    check_sentences_stand_with_the_rest, runs, sheet_rows, text,
};
use crate::world::{Kind, demo_stationery, quote, seen, stationery};

/// Two hundred letters, and no place where a line could break.
fn long() -> String {
    "Mühlenstraßenbäckereimaschinensteuerung".chars().cycle().take(200).collect()
}

/// A view with that text wherever a text may stand.
fn with_text(view: &mut View, text: &str) {
    let parsed = || text.parse().unwrap();
    view.customer.name = parsed();
    view.customer.street = parsed();
    view.customer.city = parsed();
    view.workshop.name = parsed();
    for party in &mut view.route {
        party.name = parsed();
    }
    for offer in std::iter::once(&mut view.main).chain(&mut view.alternatives) {
        offer.text = text.into();
        for unit in &mut offer.units {
            unit.family_text = parsed();
            unit.serial = parsed();
            for finding in &mut unit.findings {
                finding.text = parsed();
            }
            for step in &mut unit.plan {
                step.text = parsed();
            }
        }
        for line in &mut offer.end.lines {
            line.text = text.into();
        }
    }
}

fn sheet_of(view: &View, language: Language) -> Sheet {
    let stationery = stationery();
    evenfare_paper::sheet::quote(&crate::world::given(view, &stationery, language)).unwrap()
}

/// Every kind of those demo jobs in one language, and how many sheets they are.
fn check_jobs(numbers: impl Iterator<Item = u32>, language: Language) -> usize {
    let stationery = stationery();
    let mut seen = 0;
    for number in numbers {
        let Some(quote) = quote(number) else { continue };
        for kind in Kind::ALL {
            let Some(sheet) = kind.sheet(&quote, &stationery, language) else { continue };
            let name = format!("{} of job {number} in {language}", kind.name());
            let document = set(&sheet, &[]).unwrap();
            check_nothing_overflows(&name, &document);
            check_rows_stand_together(&name, &sheet, &document);
            check_sentences_stand_with_the_rest(&name, &sheet, &document);
            check_pages_are_filled(&name, &document);
            check_no_heading_ends_a_page(&name, &document);
            seen += 1;
        }
    }
    seen
}

/// The two that need the most room.
const LONGEST: [Language; 2] = [Language::German, Language::French];

#[test]
fn nothing_overflows_in_the_longest_language() {
    assert_eq!(check_jobs(1..=12, LONGEST[0]), 58);
}

#[test]
fn nothing_overflows_in_the_one_after_it() {
    assert_eq!(check_jobs(1..=12, LONGEST[1]), 58);
}

/// The longest job, with three ways to do it, in each of them; the others take turns.
#[test]
fn nothing_overflows_in_any_other_language() {
    let others = Language::ALL.iter().filter(|language| !LONGEST.contains(language));
    let sheets = (0..).zip(others).map(|(turn, &language)| {
        check_jobs((1..=12).filter(|number| *number == 12 || number % 3 == turn), language)
    });
    assert_eq!(sheets.sum::<usize>(), 68);
}

#[test]
fn no_row_stands_apart_from_its_table() {
    let stationery = stationery();
    // What is said of VAT went to the next page without it; prices began at the foot of a page with one row;
    // two ways to do a job, over two pages.
    for (number, kind) in [(2, Kind::Quote), (3, Kind::Quote), (12, Kind::Quote), (12, Kind::Bench)] {
        for language in [Language::English, Language::German] {
            let sheet = kind.sheet(&quote(number).unwrap(), &stationery, language).unwrap();
            let name = format!("{} of job {number} in {language}", kind.name());
            check_rows_stand_together(&name, &sheet, &set(&sheet, &[]).unwrap());
        }
    }
}

#[test]
fn long_names_wrap() {
    let quote = quote(12).unwrap();
    let mut view = seen(&quote, "customer");
    with_text(&mut view, &long());
    for language in [Language::German, Language::Polish] {
        let document = set(&sheet_of(&view, language), &[]).unwrap();
        check_nothing_overflows(&format!("long names in {language}"), &document);
        let letters = |text: &str| text.chars().filter(|c| !c.is_whitespace()).collect::<String>();
        assert!(letters(&text(&document)).contains(&long()[..20]), "the name is there");
    }
}

/// The bench goes over a board as it is numbered.
#[test]
fn places_stand_as_they_are_counted() {
    let sheet = Kind::Bench.sheet(&quote(1).unwrap(), &stationery(), Language::English).unwrap();
    let rows = sheet.blocks.iter().filter_map(|block| match block {
        Block::Table { groups, .. } => Some(groups.iter().flat_map(|group| &group.rows)),
        _ => None,
    });
    let of_list = |row: &&evenfare_paper::sheet::Row| row.cells[2] == "RELAY-24-2C" && row.cells[3] != "K3";
    let places: Vec<&str> = rows.flatten().filter(of_list).map(|row| row.cells[3].as_str()).collect();
    assert_eq!(places, ["K1", "K2", "K4", "K5", "K6", "K7", "K8", "K9", "K10", "K11", "K12"]);
}

/// The demo job of two partners with sixty lines.
fn sixty_lines() -> Quote {
    let quote = quote(1).unwrap();
    let mut draft = Draft::clone(&quote);
    let offer = &mut draft.offers[0];
    let first = offer.lines.remove(0);
    let sale = &mut offer.sales[0];
    let net = sale.lines.remove(0);
    let parts = 60 - offer.lines.len();
    let lines = net.minor() / parts as i64;
    for part in 0..parts {
        let rest = if part == 0 { net.minor() - lines * (parts as i64 - 1) } else { lines };
        let net = evenfare_engine::money::Net::from_minor(rest).unwrap();
        let id = format!("U1/part/P-{part:03}").into();
        let text = format!("{} {part}", first.text).into();
        offer.lines.push(Line { id, category: Category::Part, text, quantity: "1 pc".into(), net });
        sale.lines.push(net);
    }
    draft.seal().unwrap()
}

/// On the paper of the demo's workshop, which has texts of its own in every language.
#[test]
fn sixty_lines_fill_three_pages_with_a_head_wherever_they_stand() {
    let (quote, stationery) = (sixty_lines(), demo_stationery());
    let view = seen(&quote, "customer");
    for language in Language::ALL {
        let given = crate::world::given(&view, &stationery, *language);
        let sheet = evenfare_paper::sheet::quote(&given).unwrap();
        check_sixty_lines(&format!("sixty lines in {language}"), &sheet);
    }
}

fn check_sixty_lines(name: &str, sheet: &Sheet) {
    let document = set(sheet, &[]).unwrap();
    check_nothing_overflows(name, &document);
    check_no_heading_ends_a_page(name, &document);
    let pages = document.pages().len();
    assert_eq!(pages, 3, "{name}");
    let runs = runs(&document);
    let prices = sheet.blocks.iter().find_map(|block| match block {
        Block::Table { columns, groups, .. } if sheet_rows(groups) == 60 => Some((columns, groups)),
        _ => None,
    });
    let Some((columns, groups)) = prices else { panic!("{name}: no table of sixty lines") };
    // What no other table says as well.
    let lines = groups.iter().flat_map(|group| &group.rows).map(|row| row.cells[0].as_str());
    let is_once = |line: &&str| runs.iter().filter(|run| run.text == **line).count() == 1;
    let lines: Vec<&str> = lines.filter(is_once).collect();
    assert!(lines.len() > 30, "{name}: {} lines", lines.len());
    let mut with_lines = 0;
    for page in 0..pages {
        let on_it = || runs.iter().filter(move |run| run.page == page);
        let number = sheet.page.replace(PAGE, &(page + 1).to_string()).replace(PAGES, &pages.to_string());
        assert!(on_it().any(|run| run.text == number), "{name}: no `{number}`");
        assert!(
            on_it().any(|run| run.text.contains("Q-2026-000042")),
            "{name}: page {} has no number",
            page + 1
        );
        let first = on_it().filter(|run| lines.contains(&run.text.as_str())).map(|run| run.at.y).min();
        let Some(first) = first else { continue };
        with_lines += 1;
        // The head of the table, in one line above the first of its lines there.
        let heads: Vec<Vec<Abs>> = columns
            .iter()
            .filter(|column| !column.head.is_empty())
            .map(|column| on_it().filter(|run| run.text == column.head).map(|run| run.at.y).collect())
            .collect();
        let in_one_line = |y: &Abs| *y < first && heads.iter().all(|of| of.contains(y));
        assert!(
            heads.len() > 1 && heads[0].iter().any(in_one_line),
            "{name}: no head above the lines of page {} at {first:?}: {heads:?}",
            page + 1
        );
    }
    assert!(with_lines > 1, "{name}: the lines stand on {with_lines} pages");
}

#[test]
fn amounts_of_every_currency_stay_in_one_piece() {
    let stationery = stationery();
    // Yen, dinar, and the opposite entry of each, negative throughout.
    for number in [5, 6] {
        for quote in [quote(number).unwrap(), quote(number).unwrap().reversed().unwrap()] {
            for language in [Language::English, Language::French] {
                let sheet = Kind::Quote.sheet(&quote, &stationery, language).unwrap();
                let document = set(&sheet, &[]).unwrap();
                check_nothing_overflows(&format!("job {number} in {language}"), &document);
                let text = text(&document);
                let amounts = sheet.blocks.iter().filter_map(|block| match block {
                    Block::Table { totals, .. } => Some(totals.iter().filter_map(|row| row.cells.last())),
                    _ => None,
                });
                let amounts: Vec<&String> = amounts.flatten().collect();
                assert!(amounts.len() >= 2);
                for amount in amounts {
                    assert!(text.contains(amount.as_str()), "{amount} is broken in {language}");
                    let is_negative = quote.main().unwrap().end.net.minor() < 0
                        && amount.contains(|c: char| ('1'..='9').contains(&c));
                    assert_eq!(amount.starts_with('\u{2212}'), is_negative, "{amount}");
                }
            }
        }
    }
}

#[test]
fn what_does_not_stand_says_so_in_its_heading() {
    use evenfare_paper::State;
    use evenfare_paper::sheet::Given;
    let stationery = stationery();
    let quote = quote(1).unwrap();
    let view = seen(&quote, "customer");
    let marked = |view: &View, state| {
        let given = Given { state, ..crate::world::given(view, &stationery, Language::English) };
        text(&set(&evenfare_paper::sheet::quote(&given).unwrap(), &[]).unwrap())
    };
    assert!(!marked(&view, State::InForce).contains("Superseded:"));
    assert!(marked(&view, State::Superseded).contains("Superseded:"));
    assert!(marked(&view, State::Reversed).contains("Reversed:"));
    let back = seen(&quote.reversed().unwrap(), "customer");
    assert!(marked(&back, State::InForce).contains("takes quote Q-2026-000042 back"));
    // What was never issued has no number.
    for language in Language::ALL {
        let given = Given { number: None, ..crate::world::given(&view, &stationery, *language) };
        let sheet = evenfare_paper::sheet::quote(&given).unwrap();
        assert_eq!(sheet.number, view.reference.as_str());
        let mark = evenfare_paper::words::Words::of(*language).say("draft");
        assert!(mark != "draft" && sheet.mark == Some(mark), "{language}");
    }
}

#[test]
fn only_what_can_be_accepted_asks_for_it() {
    use evenfare_paper::State;
    use evenfare_paper::sheet::Given;
    use evenfare_paper::words::Words;
    let stationery = stationery();
    // One of a single offer on the workshop's paper, one of several.
    for number in [1, 12] {
        let quote = quote(number).unwrap();
        let [view, back] = [quote.clone(), quote.reversed().unwrap()].map(|quote| seen(&quote, "customer"));
        let number = Some("Q-2026-000042");
        for (view, number, state, expected) in [
            (&view, number, State::InForce, true),
            (&view, None, State::InForce, false),
            (&view, number, State::Superseded, false),
            (&view, number, State::Reversed, false),
            (&back, number, State::InForce, false),
        ] {
            let language = Language::English;
            let given = Given { number, state, ..crate::world::given(view, &stationery, language) };
            let sheet = evenfare_paper::sheet::quote(&given).unwrap();
            let heads = |id: &str| {
                let word = Words::of(language).say(id);
                sheet.blocks.iter().any(|block| matches!(block, Block::Heading { text } if *text == word))
            };
            let places = sheet.blocks.iter().any(|block| matches!(block, Block::Places { .. }));
            let text = text(&set(&sheet, &[]).unwrap());
            let asks = ["validity", "acceptance"].map(heads);
            assert_eq!((asks, places), ([expected; 2], expected), "{number:?} {state:?}");
            assert_eq!(sheet.mark.is_none(), expected, "who is not asked is told why");
            for words in ["can be accepted", "We accept the quote", "mark the one you accept"] {
                let said = expected && (words != "mark the one you accept" || !view.alternatives.is_empty());
                assert_eq!(text.contains(words), said, "`{words}`: {number:?} {state:?}");
            }
            for words in ["Thank you for sending", "Warranty", "Valid until", "look forward"] {
                assert_eq!(text.contains(words), !view.reversal, "`{words}`: {number:?} {state:?}");
            }
        }
    }
}

#[test]
fn no_word_of_a_label_is_broken() {
    let stationery = stationery();
    let quote = quote(3).unwrap();
    for language in Language::ALL {
        for kind in [Kind::Quote, Kind::Invoice] {
            let sheet = kind.sheet(&quote, &stationery, *language).unwrap();
            let document = set(&sheet, &[]).unwrap();
            check_nothing_overflows(&format!("{} in {language}", kind.name()), &document);
            let runs = runs(&document);
            let labels = sheet.facts.iter().flat_map(|fact| fact.name.split(' '));
            let email = sheet.head.foot.iter().flatten().find(|line| line.contains('@')).unwrap();
            for word in labels.chain(email.split('\u{a0}').next()) {
                assert!(runs.iter().any(|run| run.text.contains(word)), "`{word}` is broken in {language}");
                assert!(!word.contains('-'), "`{word}` may break in {language}");
            }
        }
    }
}

#[test]
fn a_workshop_may_print_in_black() {
    let mut stationery = stationery();
    stationery.letterhead.accent = "#000000".parse().unwrap();
    let sheet = Kind::Quote.sheet(&quote(3).unwrap(), &stationery, Language::English).unwrap();
    assert_eq!((sheet.head.accent.as_str(), sheet.head.muted.as_str()), ("#000000", "#5c6468"));
}

/// Texts that would do something, were they markup.
const HOSTILE: [&str; 8] = [
    "#panic()",
    "*bold* _slanted_ `raw`",
    "$x^2$ <label> @reference",
    "= Heading",
    "https://example.invalid/#fn",
    "#read(\"/etc/passwd\")",
    "-- --- ... ~ \\u{41} \"quoted\" 'so'",
    "/* not a comment */ // nor this",
];

#[test]
fn texts_are_never_markup() {
    let quote = quote(1).unwrap();
    for hostile in HOSTILE {
        let mut view = seen(&quote, "customer");
        with_text(&mut view, hostile);
        let document = set(&sheet_of(&view, Language::English), &[]).unwrap();
        assert!(text(&document).contains(hostile), "`{hostile}` stands as it was written");
    }
}

#[test]
fn letters_that_cannot_be_shown_are_refused_and_never_left_out() {
    let quote = quote(1).unwrap();
    // Hebrew, with and without marks of direction; an arrow that the fonts have; letters that they lack.
    for (hostile, shown) in [
        ("\u{202e}evitisop\u{202c}", true),
        ("\u{2067}שלום\u{2069}", true),
        ("→ ½ Ω µ Łódź Příbram Œuvre", true),
        ("面包", false),
        ("\u{e000}", false),
    ] {
        let mut view = seen(&quote, "customer");
        view.customer.name = hostile.parse().unwrap();
        let made = pdf(&sheet_of(&view, Language::English), &[]);
        match (made, shown) {
            (Ok(_), true) | (Err(NotSet::Refused { .. }), false) => {}
            (other, _) => panic!("`{}`: {:?}", hostile.escape_unicode(), other.map(|bytes| bytes.len())),
        }
    }
    // A control character is no text at all.
    assert!("a\u{7}b".parse::<evenfare_engine::text::Text>().is_err());
}
