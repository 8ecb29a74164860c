//! A UBL 2.1 RequestForQuotation as the tree of a job: which element says which key.

use std::borrow::Cow;

use crate::job::rules::{Rule, Says as Is, rule};
use crate::log::Log;
use crate::node::{Entry, Kind, Node};
use crate::report::Says;
use crate::source::Bytes;
use crate::xml_tree::{Element, trimmed};

/// The root and its namespace.
pub(super) const REQUEST: (&str, &str) =
    ("RequestForQuotation", "urn:oasis:names:specification:ubl:schema:xsd:RequestForQuotation-2");

/// The tree that the same job has as TOML or JSON, with the places of the elements.
pub(super) fn tree<'a>(root: &Element<'a>, log: &mut Log) -> Node<'a> {
    let mut job = Table::default();
    // Who asks on behalf of another is not the customer, and stands in the request for information.
    let customer = match root.first("OriginatorCustomerParty") {
        Some(_) => "OriginatorCustomerParty",
        None => "BuyerCustomerParty",
    };
    let mut units = Vec::new();
    let mut alternatives: Vec<Change<'_, 'a>> = Vec::new();
    for element in &root.elements {
        match element.name {
            "RequestForQuotationLine" if is_optional(element) => alternatives.push(change(element, log)),
            "RequestForQuotationLine" => units.push(unit(element, log)),
            name if name == customer => party(element, &mut job, log),
            "BuyerCustomerParty" => {}
            _ => job.take(element, rule::REQUEST, log),
        }
    }
    // A request without lines asks for no unit, as `units = []` does.
    let units = if units.is_empty() { Node::new(root.bytes.clone(), Kind::List(units)) } else { list(units) };
    job.put("units", units.bytes.clone(), units, log);
    let alternatives = together(alternatives);
    if !alternatives.is_empty() {
        let alternatives = list(alternatives);
        job.put("alternatives", alternatives.bytes.clone(), alternatives, log);
    }
    job.node(root)
}

fn is_optional(line: &Element<'_>) -> bool {
    let indicator = line.first("OptionalLineItemIndicator");
    indicator.is_some_and(|indicator| matches!(trimmed(&indicator.text), "true" | "1"))
}

/// The customer; a person is no business. Who serves him stands in the route.
fn party<'a>(element: &Element<'a>, job: &mut Table<'a>, log: &mut Log) {
    let mut customer = Table::default();
    customer.within(element, rule::CUSTOMER, log);
    let whole = element.first("Party").unwrap_or(element);
    if !customer.has("business") {
        let business = Node::new(whole.bytes.clone(), Kind::Boolean(true));
        customer.put("business", whole.bytes.clone(), business, log);
    }
    if let Some(route) = customer.remove("route") {
        job.put("route", route.bytes.clone(), route, log);
    }
    job.put("customer", element.bytes.clone(), customer.node(whole), log);
}

fn unit<'a>(line: &Element<'a>, log: &mut Log) -> Node<'a> {
    let mut unit = Table::default();
    unit.within(line, rule::UNIT, log);
    unit.node(line)
}

/// What an optional line changes for one unit, and the alternative it belongs to.
struct Change<'e, 'a> {
    line: &'e Element<'a>,
    alternative: Table<'a>,
    change: Option<Node<'a>>,
}

fn change<'e, 'a>(line: &'e Element<'a>, log: &mut Log) -> Change<'e, 'a> {
    let mut alternative = Table::default();
    alternative.within(line, rule::CHANGE, log);
    // A line that names no unit and asks for nothing says that there is the alternative.
    let is_some = |node: &Node<'_>| node.kind != Kind::Table(Vec::new());
    let change = alternative.remove("change").filter(is_some);
    Change { line, alternative, change }
}

/// Optional lines of one name, one after the other, are one alternative, unless they say another text.
fn together<'a>(lines: Vec<Change<'_, 'a>>) -> Vec<Node<'a>> {
    let said = |change: &Change<'_, 'a>, key| change.alternative.text_of(key).map(str::to_owned);
    let mut nodes = Vec::new();
    let mut lines = lines.into_iter().peekable();
    while let Some(first) = lines.next() {
        let (own, text) = (said(&first, "id"), said(&first, "text"));
        let mut changes: Vec<Node<'a>> = first.change.into_iter().collect();
        let is_same = |next: &Change<'_, 'a>| {
            own.is_some()
                && said(next, "id") == own
                && said(next, "text").is_none_or(|next| Some(next) == text)
        };
        while let Some(next) = lines.next_if(is_same) {
            changes.extend(next.change);
        }
        let mut alternative = first.alternative;
        let bytes = first.line.bytes.clone();
        let key = Cow::Borrowed("changes");
        alternative.0.push(Entry {
            key,
            key_bytes: bytes.clone(),
            value: Node::new(bytes, Kind::List(changes)),
        });
        nodes.push(alternative.node(first.line));
    }
    nodes
}

fn list(nodes: Vec<Node<'_>>) -> Node<'_> {
    let start = nodes.first().map_or(0, |node| node.bytes.start);
    let end = nodes.last().map_or(start, |node| node.bytes.end);
    Node::new(start..end, Kind::List(nodes))
}

/// A table that fills up.
#[derive(Default)]
struct Table<'a>(Vec<Entry<'a>>);

impl<'a> Table<'a> {
    fn node(self, element: &Element<'a>) -> Node<'a> {
        Node::new(element.bytes.clone(), Kind::Table(self.0))
    }

    fn has(&self, key: &str) -> bool {
        self.0.iter().any(|entry| entry.key == key)
    }

    fn remove(&mut self, key: &str) -> Option<Node<'a>> {
        let at = self.0.iter().position(|entry| entry.key == key)?;
        Some(self.0.remove(at).value)
    }

    fn text_of(&self, key: &str) -> Option<&str> {
        let entry = self.0.iter().find(|entry| entry.key == key)?;
        match &entry.value.kind {
            Kind::Text(text) => Some(text),
            _ => None,
        }
    }

    /// Puts a value under a key, which may lie in a table below: `returned.quote`.
    fn put(&mut self, key: &'static str, key_bytes: Bytes, value: Node<'a>, log: &mut Log) {
        if let Some((table, key)) = key.split_once('.') {
            let below = match self.0.iter().position(|entry| entry.key == table) {
                Some(at) => self.0.get_mut(at),
                None => {
                    let node = Node::new(key_bytes.clone(), Kind::Table(Vec::new()));
                    self.0.push(Entry {
                        key: Cow::Borrowed(table),
                        key_bytes: key_bytes.clone(),
                        value: node,
                    });
                    self.0.last_mut()
                }
            };
            if let Some(Entry { value: Node { kind: Kind::Table(entries), .. }, .. }) = below {
                let mut table = Table(std::mem::take(entries));
                table.put(key, key_bytes, value, log);
                *entries = table.0;
            }
        } else if self.has(key) {
            log.error(key_bytes, "doubled_element", key, "each of these once");
        } else {
            self.0.push(Entry { key: Cow::Borrowed(key), key_bytes, value });
        }
    }

    /// One more entry of a list.
    fn push(&mut self, key: &'static str, node: Node<'a>) {
        match self.0.iter_mut().find(|entry| entry.key == key).map(|entry| &mut entry.value) {
            Some(Node { bytes, kind: Kind::List(nodes) }) => {
                bytes.end = node.bytes.end;
                nodes.push(node);
            }
            _ => {
                let key_bytes = node.bytes.clone();
                self.0.push(Entry { key: Cow::Borrowed(key), key_bytes, value: list(vec![node]) });
            }
        }
    }

    /// What stands in an element, by those rules.
    fn within(&mut self, element: &Element<'a>, rules: &'static [Rule], log: &mut Log) {
        element.elements.iter().for_each(|inner| self.take(inner, rules, log));
    }

    /// An element, by those rules.
    fn take(&mut self, element: &Element<'a>, rules: &'static [Rule], log: &mut Log) {
        let bytes = || element.bytes.clone();
        let Some(Rule(_, says)) = rules.iter().find(|Rule(name, _)| *name == element.name) else {
            let expected = "an element that says something of a job; this one is not read";
            let tag = element.bytes.start..element.bytes.start.saturating_add(1);
            log.add(tag, Says::warning("element_not_read", element.name, expected));
            return;
        };
        match *says {
            Is::Information => {}
            Is::Within(rules) => self.within(element, rules, log),
            Is::Line(key) => self.put(key, bytes(), leaf(element, Kind::Text(element.text.clone())), log),
            Is::LineIfNone(key) if self.has(key) => {}
            Is::Word(key) => self.put(key, bytes(), word(element), log),
            Is::LineIfNone(key) => {
                self.put(key, bytes(), leaf(element, Kind::Text(element.text.clone())), log)
            }
            Is::Number(key) => {
                self.put(key, bytes(), Node::new(word_bytes(element), Kind::Cell(plain(element))), log);
            }
            Is::Words(key) => self.push(key, word(element)),
            Is::Table(key, rules) => self.put(key, bytes(), table(element, rules, log), log),
            Is::Tables(key, rules) => self.push(key, table(element, rules, log)),
            Is::Person(key) => {
                if !self.has(key) {
                    self.put(key, bytes(), Node::new(bytes(), Kind::Boolean(false)), log);
                }
            }
            Is::Empty(key) => {
                expect(element, &plain(element), "none", log);
                self.put(key, bytes(), Node::new(bytes(), Kind::List(Vec::new())), log);
            }
            Is::One => expect(element, &plain(element), "1", log),
            Is::Measured(unit, key) => {
                expect(element, element.attribute("unitCode").unwrap_or_default(), unit, log);
                let kind =
                    if unit == "MON" { Kind::Cell(plain(element)) } else { Kind::Text(plain(element)) };
                self.put(key, bytes(), leaf(element, kind), log);
            }
            Is::Named(name, value, rules) => self.named(element, name, value, rules, log),
        }
    }

    /// An element that says by one of its elements what another of them means.
    fn named(
        &mut self,
        element: &Element<'a>,
        name: &'static str,
        value: &'static str,
        rules: &'static [Rule],
        log: &mut Log,
    ) {
        let Some(named) = element.first(name) else {
            log.error(element.bytes.clone(), "missing_element", "", name);
            return;
        };
        let named = plain(named);
        match rules.iter().find(|Rule(own, _)| *own == named) {
            // A table takes all of the element; a value is one element in it.
            Some(Rule(own, Is::Tables(..))) => {
                let whole = Element { name: own, ..element.clone() };
                self.take(&whole, rules, log);
            }
            Some(Rule(own, _)) => match element.first(value) {
                Some(said) => self.take(&Element { name: own, ..said.clone() }, rules, log),
                None => log.error(element.bytes.clone(), "missing_element", "", value),
            },
            None => {
                let expected: Vec<&str> = rules.iter().map(|Rule(own, _)| *own).collect();
                let expected = format!("one of {}; this one is not read", expected.join(", "));
                let tag = element.bytes.start..element.bytes.start.saturating_add(1);
                log.add(tag, Says::warning("element_not_read", &named, expected));
            }
        }
    }
}

fn table<'a>(element: &Element<'a>, rules: &'static [Rule], log: &mut Log) -> Node<'a> {
    let mut table = Table::default();
    table.within(element, rules, log);
    table.node(element)
}

/// Reports that something is not what it can only be.
fn expect(element: &Element<'_>, found: &str, expected: &str, log: &mut Log) {
    if found != expected {
        log.error(element.text_bytes.clone(), "unknown_word", found, expected);
    }
}

fn leaf<'a>(element: &Element<'a>, kind: Kind<'a>) -> Node<'a> {
    Node::new(element.text_bytes.clone(), kind)
}

fn word<'a>(element: &Element<'a>) -> Node<'a> {
    Node::new(word_bytes(element), Kind::Text(plain(element)))
}

/// Where the word itself stands, where it is written as it is.
fn word_bytes(element: &Element<'_>) -> Bytes {
    let (text, bytes) = (&element.text, element.text_bytes.clone());
    if bytes.len() != text.len() {
        return bytes;
    }
    let word = trimmed(text);
    let start = bytes.start.saturating_add(text.find(word).unwrap_or(0));
    start..start.saturating_add(word.len())
}

fn plain<'a>(element: &Element<'a>) -> Cow<'a, str> {
    Cow::Owned(trimmed(&element.text).to_owned())
}
