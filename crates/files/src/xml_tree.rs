//! XML 1.0 into a tree of elements, every one with its place.
//!
//! What a document type could declare is never read: a file with one is refused, and of entities only the
//! five of XML itself and characters by number are known. Names are taken without their prefixes; in what
//! is read here no two namespaces have a name in common. It ends at the first syntax error.

use std::borrow::Cow;

use quick_xml::errors::{Error, IllFormedError};
use quick_xml::escape::resolve_predefined_entity;
use quick_xml::events::{BytesStart, Event};
use quick_xml::{Reader, XmlVersion};

use crate::log::Log;
use crate::source::Bytes;

/// Elements may stand in each other so deep.
const DEPTH: usize = 64;
/// How many are held in memory at once, with their attributes; those that were handed over no longer count.
const HELD: usize = 200_000;

/// An element.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Element<'a> {
    /// Its name, without the prefix.
    pub(crate) name: &'a str,
    /// From the beginning of its start tag to the end of its end tag.
    pub(crate) bytes: Bytes,
    /// Its text as it stands there, spaces and all; empty where elements are in it.
    pub(crate) text: Cow<'a, str>,
    /// Where that stands; where it is empty, the element itself.
    pub(crate) text_bytes: Bytes,
    /// Names as they are written, and values.
    pub(crate) attributes: Vec<(String, String)>,
    /// The elements in it, in their order.
    pub(crate) elements: Vec<Element<'a>>,
}

impl<'a> Element<'a> {
    /// The first element in it of that name.
    pub(crate) fn first(&self, name: &str) -> Option<&Self> {
        self.elements.iter().find(|element| element.name == name)
    }

    /// What is reached from here by these names, the first of each.
    pub(crate) fn at(&self, path: &[&str]) -> Option<&Self> {
        path.iter().try_fold(self, |element, name| element.first(name))
    }

    /// All elements in it of that name.
    pub(crate) fn all(&self, name: &str) -> impl Iterator<Item = &Self> {
        self.elements.iter().filter(move |element| element.name == name)
    }

    /// Itself and all that stand in it, with their attributes.
    fn size(&self) -> usize {
        let own = self.attributes.len().saturating_add(1);
        self.elements.iter().fold(own, |size, element| size.saturating_add(element.size()))
    }

    /// The value of that attribute.
    pub(crate) fn attribute(&self, name: &str) -> Option<&str> {
        self.attributes.iter().find(|(own, _)| own == name).map(|(_, value)| value.as_str())
    }
}

/// The name of a root, and its namespace.
pub(crate) type Root<'r> = (&'r str, &'r str);

/// Parses the whole text, whose root is to be of that name in that namespace; nothing where it is not.
pub(crate) fn parse<'a>(text: &'a str, root: Root<'_>, log: &mut Log) -> Option<Element<'a>> {
    parse_each(text, &[root], log, |_, element, _| Some(element))
}

/// Parses the whole text, whose root is to be one of these, and hands every element over as it ends,
/// with those it stands in, the outermost first. What is given back becomes part of the tree; the rest is
/// forgotten, so that a file may be larger than the memory for its tree.
pub(crate) fn parse_each<'a>(
    text: &'a str,
    roots: &[Root<'_>],
    log: &mut Log,
    take: impl FnMut(&[Element<'a>], Element<'a>, &mut Log) -> Option<Element<'a>>,
) -> Option<Element<'a>> {
    let reader = Reader::from_str(text);
    let mut tree = Tree { text, reader, open: Vec::new(), root: None, log, roots, take, held: 0 };
    while tree.step()? {}
    if tree.root.is_none() {
        tree.log.error(text.len()..text.len(), "xml_syntax", "the end of the file", "an XML document");
    }
    tree.root
}

struct Tree<'a, 'l, F> {
    text: &'a str,
    reader: Reader<&'a [u8]>,
    open: Vec<Element<'a>>,
    root: Option<Element<'a>>,
    log: &'l mut Log,
    roots: &'l [Root<'l>],
    take: F,
    held: usize,
}

impl<'a, F> Tree<'a, '_, F>
where
    F: FnMut(&[Element<'a>], Element<'a>, &mut Log) -> Option<Element<'a>>,
{
    /// Takes one piece of the text; is there more? Nothing where it is refused.
    fn step(&mut self) -> Option<bool> {
        let at = self.at();
        let event = match self.reader.read_event() {
            Ok(event) => event,
            Err(error) => return self.refuse(at, &expected(&error)),
        };
        let bytes = at..self.at();
        match event {
            Event::Start(start) => self.start(&start, bytes)?,
            Event::Empty(start) => {
                self.start(&start, bytes.clone())?;
                self.end(bytes);
            }
            Event::End(_) => self.end(bytes),
            Event::Text(text) => self.say(text.xml10_content(), bytes)?,
            Event::CData(text) => {
                let inner = bytes.start.saturating_add(9)..bytes.end.saturating_sub(3);
                self.say(text.xml10_content(), inner)?;
            }
            Event::GeneralRef(name) => {
                let by_number = name.resolve_char_ref().ok().flatten().map(|c| Cow::Owned(c.to_string()));
                let known = || resolve_predefined_entity(&name).map(Cow::Borrowed);
                match by_number.or_else(known) {
                    Some(text) => self.say(text, bytes)?,
                    None => {
                        let expected = "a character, or one of &amp; &lt; &gt; &quot; &apos;";
                        self.log.error(bytes.clone(), "xml_entity", self.shown(&bytes), expected);
                        return None;
                    }
                }
            }
            Event::DocType(_) => {
                let expected = "no document type: what one declares is not read";
                self.log.error(bytes, "xml_doctype", "<!DOCTYPE", expected);
                return None;
            }
            Event::Decl(declaration) => {
                let encoding = declaration.encoding().and_then(Result::ok);
                if let Some(other) = encoding.filter(|name| !name.eq_ignore_ascii_case("utf-8")) {
                    self.log.error(bytes, "xml_encoding", &other, "UTF-8; save the file as UTF-8");
                    return None;
                }
            }
            Event::Comment(_) | Event::PI(_) => {}
            Event::Eof if !self.open.is_empty() => return self.refuse(at, "the end tag of what is open"),
            Event::Eof => return Some(false),
        }
        Some(true)
    }

    fn at(&self) -> usize {
        usize::try_from(self.reader.buffer_position()).unwrap_or(usize::MAX)
    }

    fn shown(&self, bytes: &Bytes) -> &'a str {
        self.text.get(bytes.clone()).unwrap_or_default()
    }

    fn refuse<T>(&mut self, at: usize, expected: &str) -> Option<T> {
        let rest = self.text.get(at..).unwrap_or_default();
        let found = rest.lines().next().filter(|line| !line.is_empty()).unwrap_or("the end of the file");
        self.log.error(at..at, "xml_syntax", found, expected);
        None
    }

    fn start(&mut self, start: &BytesStart<'_>, bytes: Bytes) -> Option<()> {
        if self.open.len() >= DEPTH {
            return self.refuse(bytes.start, &format!("at most {DEPTH} elements in each other"));
        }
        if self.root.is_some() {
            return self.refuse(bytes.start, "one element at the root");
        }
        self.hold_one_more(&bytes)?;
        if let Some(parent) = self.open.last_mut() {
            if !is_blank(&parent.text) {
                return self.refuse(bytes.start, "elements or text, not both");
            }
            // Looked at once, and not again before every element that follows.
            parent.text = Cow::Borrowed("");
        }
        let tag = self.shown(&bytes).trim_start_matches('<');
        let name = tag.get(..start.name().as_ref().len()).unwrap_or_default();
        let mut attributes = Vec::new();
        for attribute in start.attributes() {
            self.hold_one_more(&bytes)?;
            let read = attribute.ok().and_then(|attribute| {
                let value = attribute.normalized_value(XmlVersion::Implicit1_0).ok()?;
                Some((attribute.key.as_ref().to_owned(), value.into_owned()))
            });
            match read {
                Some(read) => attributes.push(read),
                None => return self.refuse(bytes.start, "each attribute once, its value in quotes"),
            }
        }
        let (prefix, local) =
            name.split_once(':').map_or((None, name), |(prefix, name)| (Some(prefix), name));
        let element = Element {
            name: local,
            text: Cow::Borrowed(""),
            text_bytes: bytes.clone(),
            bytes,
            attributes,
            elements: Vec::new(),
        };
        if self.open.is_empty() {
            self.check_root(&element, prefix)?;
        }
        self.open.push(element);
        Some(())
    }

    /// Room for an element or an attribute.
    fn hold_one_more(&mut self, bytes: &Bytes) -> Option<()> {
        self.held = self.held.saturating_add(1);
        if self.held <= HELD {
            return Some(());
        }
        let expected = format!("at most {HELD} elements that belong together, with their attributes");
        self.log.error(bytes.start..bytes.start, "too_many_elements", self.shown(bytes), expected);
        None
    }

    fn check_root(&mut self, root: &Element<'_>, prefix: Option<&str>) -> Option<()> {
        let declared = match prefix {
            Some(prefix) => root.attribute(&format!("xmlns:{prefix}")),
            None => root.attribute("xmlns"),
        };
        if self.roots.iter().any(|(name, namespace)| *name == root.name && Some(*namespace) == declared) {
            return Some(());
        }
        let begin = root.bytes.start..root.bytes.start.saturating_add(1);
        let found = format!("{} in {}", root.name, declared.unwrap_or("no namespace"));
        let known = self.roots.iter().map(|(name, namespace)| format!("{name} in {namespace}"));
        self.log.error(begin, "unknown_document", &found, known.collect::<Vec<_>>().join(", or "));
        None
    }

    fn end(&mut self, bytes: Bytes) {
        let Some(mut element) = self.open.pop() else { return };
        element.bytes.end = bytes.end;
        if element.text.is_empty() || !element.elements.is_empty() {
            element.text = Cow::Borrowed("");
            element.text_bytes = element.bytes.clone();
        }
        let size = element.size();
        let kept = (self.take)(&self.open, element, self.log);
        match (self.open.last_mut(), kept) {
            (Some(parent), Some(element)) => parent.elements.push(element),
            (None, element) => self.root = element,
            (Some(_), None) => self.held = self.held.saturating_sub(size),
        }
    }

    /// More of the text of the element that is open.
    fn say(&mut self, text: Cow<'a, str>, bytes: Bytes) -> Option<()> {
        let Some(element) = self.open.last_mut() else {
            return if is_blank(&text) {
                Some(())
            } else {
                self.refuse(bytes.start, "an element around all text")
            };
        };
        if !element.elements.is_empty() {
            return if is_blank(&text) {
                Some(())
            } else {
                self.refuse(bytes.start, "elements or text, not both")
            };
        }
        element.text_bytes.end = bytes.end;
        if element.text.is_empty() {
            element.text_bytes.start = bytes.start;
            element.text = text;
        } else {
            element.text.to_mut().push_str(&text);
        }
        Some(())
    }
}

/// Is nothing in it but what XML takes for space?
fn is_blank(text: &str) -> bool {
    trimmed(text).is_empty()
}

/// Without what XML takes for space at both ends.
pub(crate) fn trimmed(text: &str) -> &str {
    text.trim_matches([' ', '\t', '\n', '\r'])
}

/// What the parser says, as what was expected.
fn expected(error: &Error) -> String {
    match error {
        Error::IllFormed(IllFormedError::MismatchedEndTag { expected, .. }) => format!("</{expected}>"),
        Error::IllFormed(IllFormedError::UnmatchedEndTag(_)) => "no end tag: nothing is open".to_owned(),
        other => format!("well-formed XML: {other}"),
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use proptest::prelude::*;

    use super::*;
    use crate::report::Report;
    use crate::source::Source;

    /// The tree with its places, or the mistakes.
    fn read(text: &str) -> String {
        let mut log = Log::new(&Arc::new(Source::new("x", text)));
        let root = parse(text, ("r", "urn:x"), &mut log);
        let mut report = Report::default();
        log.move_into(&mut report);
        fn shown(element: &Element<'_>) -> String {
            let inner: String = element.elements.iter().map(shown).collect();
            let at = &element.text_bytes;
            format!("{}[{}]{}..{}({inner})", element.name, element.text, at.start, at.end)
        }
        root.as_ref().map_or_else(|| report.to_string(), shown)
    }

    fn check(body: &str, expect: &str) {
        assert_eq!(read(&format!("<r xmlns='urn:x'>{body}</r>")), expect, "{body}");
    }

    #[test]
    fn elements_have_their_places() {
        check("<a> b </a>", "r[]0..31(a[ b ]20..23())");
        check("<n:a x='1'/>\n", "r[]0..34(a[]17..29())");
        check("<a>1 &lt; 2<![CDATA[<b>]]>&#x20AC;</a>", "r[]0..59(a[1 < 2<b>€]20..51())");
        check("<!-- - --><?pi ?><a/>", "r[]0..42(a[]34..38())");
    }

    #[test]
    fn mistakes_have_their_places() {
        let at = |column: usize, rest: &str| format!("x:1:{column}: error[{rest}");
        check("<a>b", &at(22, "xml_syntax]: found `</r>`, expected </a>"));
        check(
            "<a>&bomb;</a>",
            &at(
                21,
                "xml_entity]: found `&bomb;`, expected a character, or one of &amp; &lt; &gt; &quot; &apos;",
            ),
        );
        check("a<b/>", &at(19, "xml_syntax]: found `<b/></r>`, expected elements or text, not both"));
        check("<b/>a", &at(22, "xml_syntax]: found `a</r>`, expected elements or text, not both"));
        check(
            "<a x='1' x='2'/>",
            &at(
                18,
                "xml_syntax]: found `<a x='1' x='2'/></r>`, expected each attribute once, its value in quotes",
            ),
        );
        let wrong = |text: &str, expect: &str| assert_eq!(read(text), expect, "{text}");
        wrong(
            "<!DOCTYPE r [<!ENTITY a 'b'>]><r/>",
            "x:1:1: error[xml_doctype]: found `<!DOCTYPE`, expected no document type: what one declares is not read",
        );
        wrong(
            "<r xmlns='urn:y'/>",
            "x:1:1: error[unknown_document]: found `r in urn:y`, expected r in urn:x",
        );
        wrong("", "x:1:1: error[xml_syntax]: found `the end of the file`, expected an XML document");
        wrong(
            "<r xmlns='urn:x'>",
            "x:1:18: error[xml_syntax]: found `the end of the file`, expected the end tag of what is open",
        );
        wrong(
            "<?xml version='1.0' encoding='latin1'?><r xmlns='urn:x'/>",
            "x:1:1: error[xml_encoding]: found `latin1`, expected UTF-8; save the file as UTF-8",
        );
    }

    #[test]
    fn depth_has_a_limit() {
        let deep = format!("<r xmlns='urn:x'>{}", "<a>".repeat(100_000));
        assert!(read(&deep).contains("at most 64 elements in each other"));
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_refused(text in r#"(<r xmlns='urn:x'>)?([<>/a&;!\[\]?="' -]|<a|</a>|<!--|-->|&#|CDATA\[){0,40}(</r>)?"#) {
            prop_assert!(!read(&text).is_empty());
        }

        #[test]
        fn any_text_stands_where_its_place_says(text in "[^<&\\]\r\u{FFFE}\u{FFFF}\u{0}-\u{1F}]{1,40}") {
            let written = format!("<r xmlns='urn:x'><a>{text}</a></r>");
            let mut log = Log::new(&Arc::new(Source::new("x", &written)));
            let root = parse(&written, ("r", "urn:x"), &mut log);
            let first = root.as_ref().and_then(|root| root.first("a"));
            prop_assert_eq!(first.map(|a| &*a.text), Some(&*text));
            prop_assert_eq!(first.and_then(|a| written.get(a.text_bytes.clone())), Some(&*text));
        }
    }
}
