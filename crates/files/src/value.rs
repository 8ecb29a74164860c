//! What can be read from one place: a cell, a key of TOML, a member of JSON.

use std::borrow::Cow;

use crate::log::Log;
use crate::node::{Kind, Node};

/// Something that can be read from one place of a file.
pub(crate) trait Value: Sized {
    /// Reads it; reports what is wrong with it.
    fn read(node: &Node, log: &mut Log) -> Option<Self>;

    /// What is expected, in words.
    fn expected() -> String;

    /// What it is where nothing is said; none where something has to be.
    fn absent() -> Option<Self> {
        None
    }

    /// What may stand for a value that was refused, so that the rest can still be checked; none
    /// where other rows may refer to it.
    fn stand_in() -> Option<Self> {
        None
    }

    /// What may stand for it in a job, where the place of everything refused is known, so that
    /// nothing is taken for what was written.
    fn in_a_job() -> Option<Self> {
        Self::stand_in()
    }
}

/// What stands for a refused value in the file that this is the log of.
pub(crate) fn stand_in<T: Value>(log: &mut Log) -> Option<T> {
    if log.keeps_refusals() {
        return T::in_a_job();
    }
    let stand_in = T::stand_in();
    log.incomplete |= stand_in.is_none();
    stand_in
}

/// Reports that this is the wrong kind of thing.
pub(crate) fn wrong_kind<T>(node: &Node, log: &mut Log, expected: impl Into<String>) -> Option<T> {
    log.refused(node.bytes.clone(), None);
    if node.kind != Kind::Unreadable {
        log.error(node.bytes.clone(), "wrong_kind", &node.in_words(), expected);
    }
    None
}

/// Reports that this is no list.
pub(crate) fn no_list<T>(node: &Node, log: &mut Log, expected: String) -> Option<T> {
    // A table of TOML under `[units]` wants to be the first of a list under `[[units]]`.
    let written = log.source().text().get(node.bytes.start..).unwrap_or_default();
    let header = written
        .strip_prefix('[')
        .and_then(|rest| rest.split_once(']'))
        .map(|(name, _)| name.to_owned())
        .filter(|name| name.chars().all(|c| c.is_ascii_alphanumeric() || "_-.".contains(c)));
    match (&node.kind, header) {
        (Kind::Table(_), Some(name)) => {
            let expected = format!("[[{name}]], each time anew: {expected}");
            log.refused(node.bytes.clone(), None);
            log.error(node.bytes.clone(), "wrong_kind", &format!("[{name}]"), expected);
            None
        }
        _ => wrong_kind(node, log, expected),
    }
}

/// Reports a text that is not what it should be.
pub(crate) fn refuse<T>(
    node: &Node,
    log: &mut Log,
    code: &'static str,
    expected: impl Into<String>,
) -> Option<T> {
    log.refused(node.bytes.clone(), None);
    log.error(node.bytes.clone(), code, &node.in_words(), expected);
    None
}

impl<T: Value> Value for Option<T> {
    fn read(node: &Node, log: &mut Log) -> Option<Self> {
        // A form that was left empty says nothing.
        if matches!(&node.kind, Kind::Text(text) if text.is_empty()) {
            return Some(None);
        }
        T::read(node, log).map(Some)
    }

    fn expected() -> String {
        T::expected()
    }

    fn absent() -> Option<Self> {
        Some(None)
    }

    fn stand_in() -> Option<Self> {
        Some(None)
    }
}

impl<T: Value> Value for Vec<T> {
    fn read(node: &Node, log: &mut Log) -> Option<Self> {
        let nodes = match &node.kind {
            Kind::List(nodes) => Cow::Borrowed(nodes),
            Kind::Cell(text) => Cow::Owned(words(node, text)),
            _ => return no_list(node, log, Self::expected()),
        };
        // Every entry is looked at, and in a job the others keep their places in the list.
        let read: Vec<Option<T>> =
            nodes.iter().map(|node| T::read(node, log).or_else(|| entry(log))).collect();
        read.into_iter().collect()
    }

    fn expected() -> String {
        format!("a list; each entry {}", T::expected())
    }

    fn in_a_job() -> Option<Self> {
        Some(Self::new())
    }
}

/// What stands for a refused entry of a list.
pub(crate) fn entry<T: Value>(log: &Log) -> Option<T> {
    if log.keeps_refusals() { T::in_a_job() } else { None }
}

/// The words of a cell, each with its place where the cell is written without quotes.
fn words<'a>(node: &Node, text: &'a str) -> Vec<Node<'a>> {
    let is_plain = node.bytes.end.saturating_sub(node.bytes.start) == text.len();
    let mut words = Vec::new();
    let mut rest = text;
    while let Some(begin) = rest.find(|c: char| !c.is_whitespace()) {
        let from = rest.get(begin..).unwrap_or_default();
        let length = from.find(char::is_whitespace).unwrap_or(from.len());
        let word = from.get(..length).unwrap_or_default();
        let at = node.bytes.start.saturating_add(text.len().saturating_sub(from.len()));
        let bytes = if is_plain { at..at.saturating_add(length) } else { node.bytes.clone() };
        words.push(Node::new(bytes, Kind::Cell(Cow::Borrowed(word))));
        rest = from.get(length..).unwrap_or_default();
    }
    words
}
