//! XML as a tree of elements, and as text.

use quick_xml::escape::escape;

const CAC: &str = "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2";
const CBC: &str = "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2";

/// An element: a text, or others in the order of the schema.
pub(super) struct Element {
    name: &'static str,
    attribute: Option<(&'static str, &'static str)>,
    content: Content,
}

enum Content {
    Text(String),
    Elements(Vec<Element>),
}

/// An element that holds a text.
pub(super) fn text(name: &'static str, text: impl ToString) -> Element {
    Element { name, attribute: None, content: Content::Text(text.to_string()) }
}

/// An element that holds others.
pub(super) fn all<const N: usize>(name: &'static str, elements: [Element; N]) -> Element {
    Element { name, attribute: None, content: Content::Elements(elements.into()) }
}

impl Element {
    /// With that attribute.
    pub(super) fn with(self, name: &'static str, value: &'static str) -> Self {
        Self { attribute: Some((name, value)), ..self }
    }

    /// With one more at its end.
    pub(super) fn and(self, element: impl IntoIterator<Item = Element>) -> Self {
        let Content::Elements(mut elements) = self.content else { return self };
        elements.extend(element);
        Self { content: Content::Elements(elements), ..self }
    }

    /// The document of which it is the root, in the namespace of that name.
    pub(super) fn document(self) -> Vec<u8> {
        let mut xml = String::with_capacity(16 * 1024);
        xml.push_str("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
        let root = self.name;
        let namespaces = format!(
            " xmlns=\"urn:oasis:names:specification:ubl:schema:xsd:{root}-2\" xmlns:cac=\"{CAC}\" xmlns:cbc=\"{CBC}\""
        );
        self.write(&mut xml, &namespaces, 0);
        xml.into_bytes()
    }

    fn write(&self, xml: &mut String, namespaces: &str, depth: usize) {
        let indent = |xml: &mut String| (0..depth).for_each(|_| xml.push_str("  "));
        indent(xml);
        xml.extend(["<", self.name, namespaces]);
        if let Some((name, value)) = self.attribute {
            xml.extend([" ", name, "=\"", value, "\""]);
        }
        xml.push('>');
        match &self.content {
            Content::Text(text) => xml.push_str(&escape(carried(text))),
            Content::Elements(elements) => {
                xml.push('\n');
                elements.iter().for_each(|element| element.write(xml, "", depth.saturating_add(1)));
                indent(xml);
            }
        }
        xml.extend(["</", self.name, ">\n"]);
    }
}

/// With U+FFFD for what XML 1.0 cannot carry as it is.
fn carried(text: &str) -> String {
    let is_carried = |c: char| matches!(c, '\t' | '\n' | ' '..='\u{D7FF}' | '\u{E000}'..='\u{FFFD}' | '\u{10000}'..='\u{10FFFF}');
    text.chars().map(|c| if is_carried(c) { c } else { '\u{FFFD}' }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(given: &str, expect: &str) {
        let xml = String::from_utf8(text("Note", given).document()).unwrap_or_default();
        let body = xml.split_once("-2\">").map(|(_, body)| body);
        let body = body.and_then(|body| body.rsplit_once("-2\">").map_or(Some(body), |(_, body)| Some(body)));
        assert_eq!(body.map(|body| body.trim_end_matches("</Note>\n")), Some(expect), "{given:?}");
    }

    #[test]
    fn texts_are_never_markup() {
        check("Mill & Sons <\"'>", "Mill &amp; Sons &lt;&quot;&apos;&gt;");
        check("]]> &amp; <!-- x -->", "]]&gt; &amp;amp; &lt;!-- x --&gt;");
        check("Żółć 🧰", "Żółć 🧰");
    }

    #[test]
    fn what_xml_cannot_carry_is_replaced() {
        // XML 1.0, production 2: Char
        check(
            "a\0b\u{1}c\u{1b}d\re\u{FFFE}f\u{FFFF}g",
            "a\u{FFFD}b\u{FFFD}c\u{FFFD}d\u{FFFD}e\u{FFFD}f\u{FFFD}g",
        );
        check("a\tb", "a\tb");
    }
}
