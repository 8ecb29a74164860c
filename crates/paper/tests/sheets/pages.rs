//! What stands on the pages that were set, as a reader would copy it, and where.

use evenfare_paper::sheet::{Block, Row, Rows, Sheet, Tone};
use typst::layout::{Abs, Frame, FrameItem, Point};
use typst_layout::PagedDocument;

/// A run of letters: its page, where it begins and ends, how large they are, and the letters.
#[derive(Debug, Clone)]
pub struct Run {
    pub page: usize,
    pub at: Point,
    pub width: Abs,
    pub size: Abs,
    pub text: String,
}

/// All runs, in the order in which they were set.
pub fn runs(document: &PagedDocument) -> Vec<Run> {
    let mut runs = Vec::new();
    for (page, of) in document.pages().iter().enumerate() {
        walk(&of.frame, Point::zero(), page, &mut runs);
    }
    runs
}

fn walk(frame: &Frame, origin: Point, page: usize, into: &mut Vec<Run>) {
    for (place, item) in frame.items() {
        let at = origin + *place;
        match item {
            FrameItem::Group(group) => walk(&group.frame, at, page, into),
            FrameItem::Text(text) => {
                into.push(Run {
                    page,
                    at,
                    width: text.width(),
                    size: text.size,
                    text: text.text.to_string(),
                });
            }
            _ => {}
        }
    }
}

/// The text of each page, runs on one height on one line.
pub fn text(document: &PagedDocument) -> String {
    let mut text = String::new();
    let mut runs = runs(document);
    let height = |run: &Run| run.at.y.to_pt().round() as i64;
    let left = |run: &Run| run.at.x.to_pt().round() as i64;
    runs.sort_by_key(|run| (run.page, height(run), left(run)));
    for page in runs.chunk_by(|a, b| a.page == b.page) {
        text.push_str(&format!("--- page {} ---\n", page[0].page + 1));
        for line in page.chunk_by(|a, b| height(a) == height(b)) {
            let mut end = None;
            for run in line {
                // What stands apart is told apart.
                if end.is_some_and(|end| run.at.x > end + Abs::pt(4.0)) {
                    text.push_str("  ");
                }
                end = Some(run.at.x + run.width);
                text.push_str(&run.text);
            }
            text.push('\n');
        }
    }
    text
}

/// Nothing stands beyond the margins, and nothing stands on anything else of its line.
pub fn check_nothing_overflows(name: &str, document: &PagedDocument) {
    let right = Abs::mm(190.0) + Abs::pt(0.5);
    let left = Abs::mm(24.0) - Abs::pt(0.5);
    let bottom = Abs::mm(289.0);
    let mut all: Vec<Run> = runs(document);
    for run in &all {
        assert!(run.at.x >= left, "{name}: `{}` begins left of the margin", run.text);
        assert!(run.at.x + run.width <= right, "{name}: `{}` ends beyond the margin", run.text);
        assert!(run.at.y <= bottom, "{name}: `{}` stands below the page", run.text);
    }
    all.sort_by_key(|run| (run.page, run.at.y, run.at.x));
    for pair in all.windows(2) {
        if pair[0].page == pair[1].page && pair[0].at.y == pair[1].at.y {
            let end = pair[0].at.x + pair[0].width;
            assert!(
                end <= pair[1].at.x + Abs::pt(0.5),
                "{name}: `{}` runs into `{}`",
                pair[0].text,
                pair[1].text
            );
        }
    }
}

/// Below each heading stands something of what it is the heading of.
pub fn check_no_heading_ends_a_page(name: &str, document: &PagedDocument) {
    let runs = runs(document);
    // The name of the firm, the recipient and headings are larger than what is said; the foot of the first page and
    // the number of each have sizes of their own.
    let (heading, feet) = (Abs::pt(9.9), [Abs::pt(7.0), Abs::pt(7.5)]);
    for of in runs.iter().filter(|run| run.size > heading) {
        let is_said = |run: &&Run| {
            run.size < heading && feet.iter().all(|foot| (run.size - *foot).abs() > Abs::pt(0.1))
        };
        let mut said = runs.iter().filter(|run| run.page == of.page && run.at.y > of.at.y).filter(is_said);
        assert!(said.next().is_some(), "{name}: `{}` ends page {}", of.text, of.page + 1);
    }
}

/// No page but the last ends in its upper half: what follows would stand on it.
pub fn check_pages_are_filled(name: &str, document: &PagedDocument) {
    let half = Abs::mm(297.0) / 2.0;
    // The foot of the first page and the numbers of all stand lower, whatever is above them.
    let foot = Abs::mm(262.0);
    let runs = runs(document);
    for page in 0..document.pages().len().saturating_sub(1) {
        let lowest = runs.iter().filter(|run| run.page == page && run.at.y < foot).map(|run| run.at.y).max();
        assert!(lowest > Some(half), "{name}: page {} ends at {lowest:?}", page + 1);
    }
}

/// No page ends with the first row of several, or begins with the last; of a few, all stand on one, and what is
/// said of them with them.
pub fn check_rows_stand_together(name: &str, sheet: &Sheet, document: &PagedDocument) {
    let runs = runs(document);
    let mut unread = runs.iter();
    let mut page_of = |words: &str| page_of(name, &mut unread, words);
    for (place, block) in sheet.blocks.iter().enumerate() {
        let Block::Table { groups, totals, .. } = block else { continue };
        let mut pages_of = |rows: &[Row]| -> Vec<usize> {
            let words = rows.iter().filter_map(|row| row.cells.iter().find(|cell| !cell.is_empty()));
            words.map(|words| page_of(words)).collect()
        };
        let pages: Vec<Vec<usize>> = groups.iter().map(|group| pages_of(&group.rows)).collect();
        // What they come to may say what the next table says.
        let of_totals = pages_of(totals);
        let all: Vec<usize> = pages.iter().flatten().copied().collect();
        let rows = sheet_rows(groups);
        for of_group in pages.iter().filter(|of_group| of_group.len() > 2) {
            assert_eq!(of_group[0], of_group[1], "{name}: a first row stands alone, {pages:?}");
        }
        // A last group of a row or two stands with what all come to.
        if let ([_, .., of_last], false) = (&pages[..], of_totals.is_empty())
            && of_last.len() <= 2
        {
            let apart = of_last.iter().any(|page| *page != of_totals[0]);
            assert!(!apart, "{name}: a last group stands apart, {pages:?}");
        }
        // Lines to write on have no words, and stand with what is written there.
        let has_words = |row: &Row| row.cells.iter().any(|cell| !cell.is_empty());
        let last_row = groups.last().filter(|group| group.rows.len() > 3).and_then(|group| group.rows.last());
        if let [.., before, last] = all[..]
            && rows > 3
            && totals.is_empty()
            && last_row.is_some_and(has_words)
        {
            assert_eq!(before, last, "{name}: a last row stands alone, {pages:?}");
        }
        // Where no row has a word, no place is known.
        if rows <= 8 && !all.is_empty() {
            assert!(
                all.iter().chain(&of_totals).all(|page| *page == all[0]),
                "{name}: a few rows are broken, {pages:?}"
            );
            for (after, block) in sheet.blocks[place + 1..].iter().enumerate() {
                let Block::Text { text, tone } = block else { break };
                if after > 0 && *tone != Tone::Quiet {
                    break;
                }
                assert_eq!(page_of(text), all[0], "{name}: `{text}` stands apart from its rows");
            }
        }
    }
}

/// No page ends with a heading and one sentence of a part that goes on.
pub fn check_sentences_stand_with_the_rest(name: &str, sheet: &Sheet, document: &PagedDocument) {
    let runs = runs(document);
    let mut unread = runs.iter();
    for blocks in sheet.blocks.windows(3) {
        if let [
            Block::Heading { .. } | Block::Subheading { .. },
            Block::Text { text, .. },
            Block::Subheading { text: next },
        ] = blocks
        {
            let page = page_of(name, &mut unread, text);
            assert_eq!(page_of(name, &mut unread, next), page, "{name}: `{text}` stands apart from `{next}`");
        }
    }
}

/// The page of those words; what stands before them is read, as pages are set in the order of the sheet.
fn page_of<'r>(name: &str, unread: &mut impl Iterator<Item = &'r Run>, words: &str) -> usize {
    // A cell may be set in several runs.
    let plain = |text: &str| text.replace('\u{a0}', " ");
    let words = plain(words);
    let begins = |run: &&Run| !run.text.trim().is_empty() && words.starts_with(plain(&run.text).trim());
    unread.find(begins).unwrap_or_else(|| panic!("{name}: no `{words}`")).page
}

/// How many rows a table has.
pub fn sheet_rows(groups: &[Rows]) -> usize {
    groups.iter().map(|group| group.rows.len()).sum()
}
