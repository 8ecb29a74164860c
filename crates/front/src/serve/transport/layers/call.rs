//! What is known of a call while it runs.

use std::sync::{Arc, OnceLock};

use http::{HeaderMap, HeaderName, HeaderValue};

use super::super::chance::Chance;

/// The header of the request id, both ways.
pub(super) const REQUEST_ID: HeaderName = HeaderName::from_static("x-request-id");
/// Longer ids are replaced.
const LONGEST_ID: usize = 64;

/// One call, as the log names it: an extension of every request.
#[derive(Debug, Clone)]
pub struct Call(Arc<Known>);

#[derive(Debug)]
struct Known {
    id: HeaderValue,
    caller: OnceLock<Box<str>>,
}

impl Call {
    /// A call by the id that its request brought, or by one of its own.
    ///
    /// An id stands in the log, so that it is taken only if it is short and of plain characters.
    pub(super) fn new(headers: &HeaderMap, chance: &Chance) -> Self {
        let taken = headers.get(REQUEST_ID).filter(|id| is_plain(id.as_bytes())).cloned();
        let mut id = taken.unwrap_or_else(|| own(chance));
        // It does not come again: neither side puts it into its table of headers, in the place of those that do.
        id.set_sensitive(true);
        Self(Arc::new(Known { id, caller: OnceLock::new() }))
    }

    /// The request id, as the response says it.
    #[must_use]
    pub fn id(&self) -> &str {
        self.0.id.to_str().unwrap_or_default()
    }

    /// Notes who calls, for the log. The name of a caller, never a token of his. The first name stays.
    pub fn name_caller(&self, name: &str) {
        self.0.caller.get_or_init(|| name.into());
    }

    pub(super) fn caller(&self) -> Option<&str> {
        self.0.caller.get().map(AsRef::as_ref)
    }

    pub(super) fn header(&self) -> HeaderValue {
        self.0.id.clone()
    }
}

fn is_plain(id: &[u8]) -> bool {
    (1..=LONGEST_ID).contains(&id.len())
        && id.iter().all(|byte| byte.is_ascii_alphanumeric() || b"-_.:".contains(byte))
}

fn own(chance: &Chance) -> HeaderValue {
    let hex = format!("{:016x}", chance.draw());
    // Hexadecimal digits are a header always.
    HeaderValue::try_from(hex).unwrap_or(HeaderValue::from_static("none"))
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn id_for(brought: &[u8]) -> String {
        let mut headers = HeaderMap::new();
        headers.insert(REQUEST_ID, HeaderValue::from_bytes(brought).unwrap());
        Call::new(&headers, &Chance::default()).id().to_owned()
    }

    #[test]
    fn a_plain_id_is_taken() {
        for id in ["a", "7f3c-11", "portal:2026.03_5", &"x".repeat(64)] {
            assert_eq!(id_for(id.as_bytes()), id);
        }
    }

    #[test]
    fn any_other_id_is_replaced() {
        for id in [&b""[..], b"two words", b"a\"b", b"a\tb", "\u{e4}".as_bytes(), "x".repeat(65).as_bytes()] {
            let own = id_for(id);
            assert_eq!(own.len(), 16, "{own}");
            assert!(own.bytes().all(|b| b.is_ascii_hexdigit()), "{own}");
        }
    }

    #[test]
    fn the_first_name_of_a_caller_stays() {
        let call = Call::new(&HeaderMap::new(), &Chance::default());
        assert_eq!(call.caller(), None);
        call.name_caller("office");
        call.clone().name_caller("someone else");
        assert_eq!(call.caller(), Some("office"));
    }
}
