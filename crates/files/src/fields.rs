//! The fields of a table, one after the other.

use crate::log::Log;
use crate::node::{Entry, Kind, Node};
use crate::value::{Value, stand_in, wrong_kind};

/// Takes the fields out of a table by name; what nobody asked for is reported at the end.
pub(crate) struct Fields<'n, 'a, 'l> {
    node: &'n Node<'a>,
    entries: &'n [Entry<'a>],
    asked: Vec<&'static str>,
    pub(crate) log: &'l mut Log,
}

impl<'n, 'a, 'l> Fields<'n, 'a, 'l> {
    /// The fields of this node; nothing, and a report, where it is no table.
    pub(crate) fn of(node: &'n Node<'a>, log: &'l mut Log) -> Option<Self> {
        match &node.kind {
            Kind::Table(entries) => Some(Self { node, entries, asked: Vec::new(), log }),
            _ => wrong_kind(node, log, "a table"),
        }
    }

    /// What stands at that name.
    pub(crate) fn node(&mut self, name: &'static str) -> Option<&'n Node<'a>> {
        if !self.asked.contains(&name) {
            self.asked.push(name);
        }
        self.entries.iter().find(|entry| entry.key == name).map(|entry| &entry.value)
    }

    /// The value at that name; reported where it has to be there and is not.
    pub(crate) fn need<T: Value>(&mut self, name: &'static str) -> Option<T> {
        let value = match self.node(name) {
            Some(node) if !node.is_absent() => T::read(node, self.log),
            node => T::absent().or_else(|| self.missing(name, node, &T::expected())),
        };
        value.or_else(|| stand_in(self.log))
    }

    /// The value at that name, or the usual one where nothing is said.
    pub(crate) fn or_default<T: Value + Default>(&mut self, name: &'static str) -> Option<T> {
        match self.node(name) {
            Some(node) if !node.is_absent() => T::read(node, self.log).or_else(|| stand_in(self.log)),
            _ => Some(T::default()),
        }
    }

    /// The table or list at that name, read by a function of its own.
    pub(crate) fn need_with<T>(
        &mut self,
        name: &'static str,
        expected: &str,
        read: impl FnOnce(&Node, &mut Log) -> Option<T>,
    ) -> Option<T> {
        match self.node(name) {
            Some(node) if !node.is_absent() => read(node, self.log),
            node => self.missing(name, node, expected),
        }
    }

    fn missing<T>(&mut self, name: &'static str, node: Option<&Node>, expected: &str) -> Option<T> {
        match node {
            Some(node) => self.log.refused(node.bytes.clone(), None),
            None => self.log.refused(self.node.bytes.clone(), Some(name)),
        }
        match node {
            Some(Node { bytes, kind: Kind::Cell(_) }) => {
                self.log.error(bytes.clone(), "empty_cell", "", format!("{name}: {expected}"));
            }
            Some(Node { bytes, .. }) => {
                self.log.error(bytes.clone(), "missing_key", "null", format!("{name}: {expected}"));
            }
            // Part of the file is out of sight, and this may well be there.
            None if self.log.partial => {}
            None => {
                let bytes = self.node.bytes.clone();
                self.log.error(bytes, "missing_key", "", format!("{name}: {expected}"));
            }
        }
        None
    }

    /// Reports keys that nobody asked for.
    pub(crate) fn finish(self) {
        let Self { entries, asked, log, .. } = self;
        for entry in entries {
            if !asked.contains(&&*entry.key) && entry.value.kind != Kind::Unreadable {
                let expected = format!("one of {}", asked.join(", "));
                let known = asked.iter().copied();
                log.unknown(entry.key_bytes.clone(), "unknown_key", &entry.key, &expected, known);
            }
        }
    }
}
