//! JSON (RFC 8259) into the tree.
//!
//! A reader of our own, because the usual one keeps no places. It ends at the first syntax error;
//! keys that stand twice are an error too.

use std::borrow::Cow;
use std::collections::BTreeSet;

use crate::log::Log;
use crate::node::{Entry, Kind, Node};

/// Lists and tables may stand in each other so deep.
const DEPTH: usize = 64;

/// Parses the whole text; nothing where it is not JSON.
pub(crate) fn parse<'a>(text: &'a str, log: &mut Log) -> Option<Node<'a>> {
    let mut reader = Reader { text, at: 0, log };
    let root = reader.value(0)?;
    reader.skip_space();
    if reader.at < text.len() {
        return reader.refuse("the end of the file");
    }
    Some(root)
}

struct Reader<'a, 'l> {
    text: &'a str,
    at: usize,
    log: &'l mut Log,
}

impl<'a> Reader<'a, '_> {
    fn rest(&self) -> &'a str {
        self.text.get(self.at..).unwrap_or_default()
    }

    fn peek(&self) -> Option<u8> {
        self.text.as_bytes().get(self.at).copied()
    }

    fn skip(&mut self, bytes: usize) {
        self.at = self.at.saturating_add(bytes);
    }

    fn skip_space(&mut self) {
        let rest = self.rest();
        let trimmed = rest.trim_start_matches([' ', '\t', '\n', '\r']);
        self.skip(rest.len().saturating_sub(trimmed.len()));
    }

    /// Takes that byte, after spaces.
    fn take(&mut self, byte: u8) -> bool {
        self.skip_space();
        let is_there = self.peek() == Some(byte);
        if is_there {
            self.skip(1);
        }
        is_there
    }

    /// Reports what stands here.
    fn refuse<T>(&mut self, expected: &str) -> Option<T> {
        let rest = self.rest();
        let word = rest.find(|c: char| !c.is_alphanumeric()).unwrap_or(rest.len());
        let length = word.max(rest.chars().next().map_or(0, char::len_utf8));
        let found = rest.get(..length).unwrap_or_default();
        let found = if found.is_empty() { "the end of the file" } else { found };
        self.log.error(self.at..self.at.saturating_add(length), "json_syntax", found, expected);
        None
    }

    fn value(&mut self, depth: usize) -> Option<Node<'a>> {
        self.skip_space();
        let start = self.at;
        if depth > DEPTH {
            return self.refuse(&format!("at most {DEPTH} lists and tables inside each other"));
        }
        let kind = match self.peek() {
            Some(b'{') => self.table(depth)?,
            Some(b'[') => self.list(depth)?,
            Some(b'"') => Kind::Text(self.string()?),
            Some(b'-' | b'0'..=b'9') => self.number()?,
            _ => self.word()?,
        };
        Some(Node::new(start..self.at, kind))
    }

    fn table(&mut self, depth: usize) -> Option<Kind<'a>> {
        self.skip(1);
        let mut entries: Vec<Entry<'a>> = Vec::new();
        let mut keys = BTreeSet::new();
        if self.take(b'}') {
            return Some(Kind::Table(entries));
        }
        loop {
            self.skip_space();
            let start = self.at;
            if self.peek() != Some(b'"') {
                return self.refuse("a key in quotes");
            }
            let key = self.string()?;
            let key_bytes = start..self.at;
            if !self.take(b':') {
                return self.refuse("a colon after the key");
            }
            let value = self.value(depth.saturating_add(1))?;
            if keys.insert(key.clone()) {
                entries.push(Entry { key, key_bytes, value });
            } else {
                self.log.error(key_bytes, "json_syntax", &key, "each key once in a table");
            }
            if self.take(b'}') {
                return Some(Kind::Table(entries));
            }
            if !self.take(b',') {
                return self.refuse("a comma or the closing brace of the table");
            }
        }
    }

    fn list(&mut self, depth: usize) -> Option<Kind<'a>> {
        self.skip(1);
        let mut nodes = Vec::new();
        if self.take(b']') {
            return Some(Kind::List(nodes));
        }
        loop {
            nodes.push(self.value(depth.saturating_add(1))?);
            if self.take(b']') {
                return Some(Kind::List(nodes));
            }
            if !self.take(b',') {
                return self.refuse("a comma or the closing bracket of the list");
            }
        }
    }

    fn word(&mut self) -> Option<Kind<'a>> {
        let words = [("true", Kind::Boolean(true)), ("false", Kind::Boolean(false)), ("null", Kind::Null)];
        let rest = self.rest();
        match words.into_iter().find(|(word, _)| rest.starts_with(word)) {
            Some((word, kind)) => {
                self.skip(word.len());
                Some(kind)
            }
            None => self.refuse("a JSON value"),
        }
    }

    fn digits(&mut self) -> usize {
        let rest = self.rest();
        let digits = rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len());
        self.skip(digits);
        digits
    }

    fn number(&mut self) -> Option<Kind<'a>> {
        let start = self.at;
        if self.peek() == Some(b'-') {
            self.skip(1);
        }
        let has_zero = self.peek() == Some(b'0');
        match self.digits() {
            0 => return self.refuse("a digit"),
            2.. if has_zero => {
                self.at = start;
                return self.refuse("a number without zeros in front");
            }
            _ => {}
        }
        let mut is_whole = true;
        if self.peek() == Some(b'.') {
            is_whole = false;
            self.skip(1);
            if self.digits() == 0 {
                return self.refuse("a digit after the point");
            }
        }
        if matches!(self.peek(), Some(b'e' | b'E')) {
            is_whole = false;
            self.skip(1);
            if matches!(self.peek(), Some(b'+' | b'-')) {
                self.skip(1);
            }
            if self.digits() == 0 {
                return self.refuse("a digit of the exponent");
            }
        }
        let text = Cow::Borrowed(self.text.get(start..self.at).unwrap_or_default());
        Some(if is_whole { Kind::Integer(text) } else { Kind::Float(text) })
    }

    fn string(&mut self) -> Option<Cow<'a, str>> {
        self.skip(1);
        let mut text = Cow::Borrowed("");
        loop {
            let rest = self.rest();
            let plain = rest.find(|c: char| c == '"' || c == '\\' || c < ' ').unwrap_or(rest.len());
            text += rest.get(..plain).unwrap_or_default();
            self.skip(plain);
            match self.peek() {
                Some(b'"') => {
                    self.skip(1);
                    return Some(text);
                }
                Some(b'\\') => text.to_mut().push(self.escape()?),
                _ => return self.refuse("a closing quote on the same line"),
            }
        }
    }

    fn escape(&mut self) -> Option<char> {
        let start = self.at;
        self.skip(1);
        let c = match self.peek() {
            Some(b'"') => '"',
            Some(b'\\') => '\\',
            Some(b'/') => '/',
            Some(b'b') => '\u{8}',
            Some(b'f') => '\u{C}',
            Some(b'n') => '\n',
            Some(b'r') => '\r',
            Some(b't') => '\t',
            Some(b'u') => {
                self.skip(1);
                return self.unicode(start);
            }
            _ => return self.refuse("an escape of JSON"),
        };
        self.skip(1);
        Some(c)
    }

    /// Four hexadecimal digits, or a pair of surrogates.
    fn unicode(&mut self, start: usize) -> Option<char> {
        let first = self.hexadecimal();
        let code = match first {
            Some(high @ 0xD800..=0xDBFF) if self.rest().starts_with("\\u") => {
                self.skip(2);
                let low = self.hexadecimal().filter(|low| (0xDC00..=0xDFFF).contains(low));
                low.map(|low| 0x1_0000_u32.saturating_add((high & 0x3FF) << 10).saturating_add(low & 0x3FF))
            }
            other => other,
        };
        match code.and_then(char::from_u32) {
            Some(c) => Some(c),
            None => {
                self.at = start;
                self.refuse("an escape that stands for a character")
            }
        }
    }

    fn hexadecimal(&mut self) -> Option<u32> {
        let digits = self.rest().get(..4).filter(|digits| digits.bytes().all(|b| b.is_ascii_hexdigit()))?;
        self.skip(4);
        u32::from_str_radix(digits, 16).ok()
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use proptest::prelude::*;

    use super::*;
    use crate::report::Report;
    use crate::source::Source;

    fn read(text: &str) -> (Option<Kind<'_>>, String) {
        let mut log = Log::new(&Arc::new(Source::new("j", text)));
        let kind = parse(text, &mut log).map(|node| node.kind);
        let mut report = Report::default();
        log.move_into(&mut report);
        (kind, report.to_string())
    }

    fn check(text: &str, mistakes: &str) {
        assert_eq!(read(text).1, mistakes, "{text}");
    }

    #[test]
    fn mistakes_have_their_places() {
        check(r#"{"a": [1, "ä\n", true]}"#, "");
        check(
            "{\n  \"ä\": 1\n  \"b\": 2}",
            "j:3:3: error[json_syntax]: found `\"`, expected a comma or the closing brace of the table",
        );
        check(
            "{\"a\": 1, \"a\": 2}",
            "j:1:10: error[json_syntax]: found `a`, expected each key once in a table",
        );
        check("[yes]", "j:1:2: error[json_syntax]: found `yes`, expected a JSON value");
        check("[01]", "j:1:2: error[json_syntax]: found `01`, expected a number without zeros in front");
        check(
            "\"\\ud800\"",
            "j:1:2: error[json_syntax]: found `\\`, expected an escape that stands for a character",
        );
        check(
            "\"a",
            "j:1:3: error[json_syntax]: found `the end of the file`, expected a closing quote on the same line",
        );
        check("", "j:1:1: error[json_syntax]: found `the end of the file`, expected a JSON value");
        check("1 2", "j:1:3: error[json_syntax]: found `2`, expected the end of the file");
    }

    #[test]
    fn depth_has_a_limit() {
        assert!(read(&"[".repeat(100_000)).1.contains("at most 64 lists"));
    }

    #[test]
    fn escapes_are_read() {
        let text = r#""\ud83d\ude00\u00e4\/\t""#;
        assert_eq!(read(text).0, Some(Kind::Text("😀ä/\t".into())));
    }

    proptest! {
        #[test]
        fn the_usual_reader_takes_and_refuses_the_same(text in r#"[\[\]{}:," \\/a-fu0-9.eE+\-ntrls]{0,40}"#) {
            let usual = serde_json::from_str::<serde_json::Value>(&text);
            let (ours, mistakes) = read(&text);
            // The usual reader keeps the last of two equal keys, and refuses numbers that are too large.
            let differs = mistakes.contains("each key once") || usual.as_ref().is_err_and(|e| e.to_string().contains("out of range"));
            prop_assert!(differs || usual.is_ok() == ours.is_some(), "{text}: {usual:?} {mistakes}");
        }
    }
}
