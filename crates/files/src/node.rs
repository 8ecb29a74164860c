//! One tree for TOML, JSON and the cells of a table, every node with its place.

use std::borrow::Cow;

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

/// Where everything in a tree stands, found by paths such as `units[0].findings[2].code`.
///
/// A tree of its own, and no list of paths: those repeat every key above them, and a key may be long.
#[derive(Debug, Clone, Default)]
pub(crate) struct Places {
    bytes: Bytes,
    below: Below,
}

#[derive(Debug, Clone, Default)]
enum Below {
    #[default]
    Nothing,
    Keys(Vec<(String, Places)>),
    Entries(Vec<Places>),
}

impl Places {
    pub(crate) fn of(node: &Node) -> Self {
        let below = match &node.kind {
            Kind::Table(entries) => Below::Keys(
                entries.iter().map(|entry| (entry.key.to_string(), Self::of(&entry.value))).collect(),
            ),
            Kind::List(nodes) => Below::Entries(nodes.iter().map(Self::of).collect()),
            _ => Below::Nothing,
        };
        Self { bytes: node.bytes.clone(), below }
    }

    /// Tells every place with its path.
    pub(crate) fn each(&self, mut tell: impl FnMut(&str, &Bytes)) {
        self.tell(&mut String::new(), &mut tell);
    }

    fn tell(&self, path: &mut String, tell: &mut impl FnMut(&str, &Bytes)) {
        tell(path, &self.bytes);
        let own = path.len();
        match &self.below {
            Below::Nothing => {}
            Below::Keys(keys) => {
                for (key, places) in keys {
                    if own > 0 {
                        path.push('.');
                    }
                    path.push_str(key);
                    places.tell(path, tell);
                    path.truncate(own);
                }
            }
            Below::Entries(entries) => {
                for (index, places) in entries.iter().enumerate() {
                    path.push_str(&format!("[{index}]"));
                    places.tell(path, tell);
                    path.truncate(own);
                }
            }
        }
    }

    /// The place, or the nearest thing that it would be in.
    pub(crate) fn nearest(&self, path: &str) -> Bytes {
        let mut nearest = self;
        // `units[0].code` is `units`, then `0]`, then `code`.
        for step in path.split(['.', '[']).filter(|step| !step.is_empty()) {
            let below = match &nearest.below {
                Below::Nothing => None,
                Below::Keys(keys) => keys.iter().find(|(key, _)| key == step).map(|(_, places)| places),
                Below::Entries(entries) => {
                    let index = step.strip_suffix(']').and_then(|index| index.parse::<usize>().ok());
                    index.and_then(|index| entries.get(index))
                }
            };
            match below {
                Some(below) => nearest = below,
                None => break,
            }
        }
        nearest.bytes.clone()
    }
}
