//! One tree for TOML, JSON and the cells of a table, every node with its place.

use std::borrow::Cow;
use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::source::Bytes;

/// A value in a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Node<'a> {
    pub(crate) bytes: Bytes,
    pub(crate) kind: Kind<'a>,
}

/// What a value is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Kind<'a> {
    /// A cell of a table: text that may stand for anything.
    Cell(Cow<'a, str>),
    /// A text in quotes.
    Text(Cow<'a, str>),
    /// A whole number in decimal digits.
    Integer(Cow<'a, str>),
    /// A number that has passed through a binary fraction, or would.
    Float(Cow<'a, str>),
    /// True or false.
    Boolean(bool),
    /// A day without a time.
    Date(NaiveDate),
    /// A time, or a day with one.
    Time,
    /// JSON's `null`: as good as not said.
    Null,
    /// A list.
    List(Vec<Node<'a>>),
    /// A table, in the order of the file.
    Table(Vec<Entry<'a>>),
    /// Reported already.
    Unreadable,
}

/// A key and its value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Entry<'a> {
    pub(crate) key: Cow<'a, str>,
    pub(crate) key_bytes: Bytes,
    pub(crate) value: Node<'a>,
}

impl<'a> Node<'a> {
    pub(crate) fn new(bytes: Bytes, kind: Kind<'a>) -> Self {
        Self { bytes, kind }
    }

    /// Is there nothing in it?
    pub(crate) fn is_absent(&self) -> bool {
        match &self.kind {
            Kind::Null => true,
            Kind::Cell(text) => text.is_empty(),
            _ => false,
        }
    }

    /// What it is, in words, for messages about the wrong kind.
    pub(crate) fn in_words(&self) -> Cow<'_, str> {
        match &self.kind {
            Kind::Cell(text) | Kind::Text(text) | Kind::Integer(text) | Kind::Float(text) => {
                Cow::Borrowed(text)
            }
            Kind::Boolean(true) => Cow::Borrowed("true"),
            Kind::Boolean(false) => Cow::Borrowed("false"),
            Kind::Date(date) => Cow::Owned(date.to_string()),
            Kind::Time => Cow::Borrowed("a time"),
            Kind::Null => Cow::Borrowed("null"),
            Kind::List(_) => Cow::Borrowed("a list"),
            Kind::Table(_) => Cow::Borrowed("a table"),
            Kind::Unreadable => Cow::Borrowed(""),
        }
    }
}

/// Where everything in a tree stands, by paths such as `units[0].findings[2].code`.
#[derive(Debug, Clone, Default)]
pub(crate) struct Places {
    bytes: BTreeMap<String, Bytes>,
}

impl Places {
    pub(crate) fn of(root: &Node) -> Self {
        let mut places = Self::default();
        places.add(root, String::new());
        places
    }

    fn add(&mut self, node: &Node, path: String) {
        match &node.kind {
            Kind::Table(entries) => {
                for entry in entries {
                    let key = &entry.key;
                    let below = if path.is_empty() { key.to_string() } else { format!("{path}.{key}") };
                    self.add(&entry.value, below);
                }
            }
            Kind::List(nodes) => {
                for (index, node) in nodes.iter().enumerate() {
                    self.add(node, format!("{path}[{index}]"));
                }
            }
            _ => {}
        }
        self.bytes.insert(path, node.bytes.clone());
    }

    /// The paths of what stands exactly there.
    pub(crate) fn by_bytes(&self) -> BTreeMap<(usize, usize), Vec<&str>> {
        let mut paths: BTreeMap<_, Vec<&str>> = BTreeMap::new();
        for (path, bytes) in &self.bytes {
            paths.entry((bytes.start, bytes.end)).or_default().push(path);
        }
        paths
    }

    /// The place, or the nearest thing that it would be in.
    pub(crate) fn nearest(&self, path: &str) -> Bytes {
        let mut path = path;
        loop {
            if let Some(bytes) = self.bytes.get(path) {
                return bytes.clone();
            }
            match path.rfind(['.', '[']) {
                Some(cut) => path = path.get(..cut).unwrap_or_default(),
                None => return self.bytes.get("").cloned().unwrap_or(0..0),
            }
        }
    }
}
