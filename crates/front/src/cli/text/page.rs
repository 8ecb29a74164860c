//! A page, written from top to bottom.

use anstyle::Style;

use super::money::SPACE;
use super::table::{Table, styled};
use super::wrap::{plain, width, wrap};
use super::{WIDTH, style};

/// Lines of at most 80 columns.
#[derive(Debug, Default)]
pub(in crate::cli) struct Page {
    text: String,
}

impl Page {
    fn push(&mut self, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
    }

    /// An empty line, but none at the top and no two of them.
    pub(in crate::cli) fn blank(&mut self) {
        if !self.text.is_empty() && !self.text.ends_with("\n\n") {
            self.text.push('\n');
        }
    }

    /// A title, and what stands at the other end of its line.
    pub(in crate::cli) fn title(&mut self, title: &str, right: &str) {
        let (title, right) = (plain(title), plain(right));
        let room = WIDTH.checked_sub(width(&title).saturating_add(width(&right))).filter(|room| *room > 1);
        match room {
            _ if right.is_empty() => self.paragraph(0, style::STRONG, &title),
            Some(room) => self.push(&format!("{}{}{right}", styled(&title, style::STRONG), " ".repeat(room))),
            None => {
                self.paragraph(0, style::STRONG, &title);
                self.paragraph(0, style::PLAIN, &right);
            }
        }
        self.push(&styled(&"━".repeat(WIDTH), style::FAINT));
    }

    /// A heading, after an empty line, and what explains it.
    pub(in crate::cli) fn heading(&mut self, heading: &str, beside: &str) {
        self.blank();
        let heading = plain(heading).to_uppercase();
        let room = WIDTH.saturating_sub(width(&heading)).saturating_sub(2);
        let beside = super::wrap::cut(&plain(beside), room);
        let beside = if beside.is_empty() { beside } else { format!("  {}", styled(&beside, style::FAINT)) };
        self.push(&format!("{}{beside}", styled(&heading, style::STRONG)));
    }

    /// Words, wrapped.
    pub(in crate::cli) fn paragraph(&mut self, indent: usize, style: Style, text: &str) {
        for line in wrap(&plain(text), WIDTH.saturating_sub(indent)) {
            self.push(&format!("{:indent$}{}", "", styled(&line, style)));
        }
    }

    /// A word in a style and what it is about, wrapped under itself.
    pub(in crate::cli) fn labelled(&mut self, style: Style, label: &str, text: &str) {
        self.hanging(0, &format!("{label}:"), style, text);
    }

    /// What stands before, and words wrapped beside it.
    pub(in crate::cli) fn hanging(&mut self, indent: usize, before: &str, style: Style, text: &str) {
        let before = plain(before);
        let rest = " ".repeat(indent.saturating_add(width(&before)).saturating_add(1));
        let first = format!("{:indent$}{} ", "", styled(&before, style));
        self.lines(&first, &rest, style::PLAIN, text);
    }

    /// Words in a style, wrapped, with one text before the first line and another before the rest.
    pub(in crate::cli) fn beside(&mut self, first: &str, rest: &str, style: Style, text: &str) {
        self.lines(&styled(first, style::FAINT), &styled(rest, style::FAINT), style, text);
    }

    fn lines(&mut self, first: &str, rest: &str, style: Style, text: &str) {
        let taken = width(&anstream::adapter::strip_str(rest).to_string());
        let room = WIDTH.saturating_sub(taken).max(20);
        for (number, line) in wrap(&plain(text), room).iter().enumerate() {
            let before = if number == 0 { first } else { rest };
            self.push(&format!("{before}{}", styled(line, style)));
        }
    }

    /// A table.
    pub(in crate::cli) fn table(&mut self, table: &Table) {
        for line in table.lines() {
            self.push(&line);
        }
    }

    /// A line that is styled and fitted already.
    pub(in crate::cli) fn drawn(&mut self, text: &str) {
        self.push(text.trim_end_matches('\n'));
    }

    /// What was written. A space that nothing is broken at is now one like any other, so that what is
    /// copied or searched for is found.
    pub(in crate::cli) fn finish(self) -> String {
        self.text.replace(SPACE, " ")
    }
}
