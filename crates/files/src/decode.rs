//! Bytes into text.

use std::borrow::Cow;
use std::sync::Arc;

use crate::log::Log;
use crate::report::{Mistake, Report, Says};
use crate::source::Source;

/// The largest file of a tariff.
pub(crate) const TARIFF_FILE_LIMIT: usize = 16 * MIB;
/// The largest statement, invoice or list.
pub(crate) const BOOKS_LIMIT: usize = 64 * MIB;
/// The largest job.
pub(crate) const JOB_LIMIT: usize = MIB;

const MIB: usize = 1024 * 1024;

/// A text, and where its mistakes are written down.
pub(crate) struct Decoded<'a> {
    pub(crate) text: Cow<'a, str>,
    pub(crate) log: Log,
}

/// Says that a file is larger than is read.
pub(crate) fn too_large(size: u64, limit: usize) -> Says {
    let limit = limit.checked_div(MIB).unwrap_or(0);
    Says::error("file_too_large", &format!("{size} bytes"), format!("at most {limit} MiB"))
}

/// The text of a file without its byte order mark. Nothing where it is too large or is no text.
///
/// Bytes that are no UTF-8 are reported once, with the first place, and stand as U+FFFD in the
/// text, so that the other mistakes of the file come to light as well.
pub(crate) fn decode<'a>(
    name: &str,
    bytes: &'a [u8],
    limit: usize,
    report: &mut Report,
) -> Option<Decoded<'a>> {
    if bytes.len() > limit {
        let size = u64::try_from(bytes.len()).unwrap_or(u64::MAX);
        report.push(Mistake::in_folder(name.to_owned(), too_large(size, limit)));
        return None;
    }
    let body = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    let text = String::from_utf8_lossy(body);
    let mut log = Log::new(&Arc::new(Source::new(name, &text)));
    let mark = bytes.len().saturating_sub(body.len());
    let place_of = |at: usize| at.saturating_add(mark).saturating_add(1);
    if let Some(at) = body.iter().position(|byte| *byte == 0) {
        let before = body.get(..at).map_or(0, |before| String::from_utf8_lossy(before).len());
        let found = format!("0x00 (byte {})", place_of(at));
        log.error(before..before.saturating_add(1), "not_text", &found, "text in UTF-8, without zero bytes");
        log.move_into(report);
        return None;
    }
    if let Err(error) = std::str::from_utf8(body) {
        let at = error.valid_up_to();
        let byte = body.get(at).copied().unwrap_or_default();
        let places = body.utf8_chunks().filter(|chunk| !chunk.invalid().is_empty()).count();
        let more = if places > 1 { format!(", the first of {places}") } else { String::new() };
        let found = format!("0x{byte:02X} (byte {}{more})", place_of(at));
        let expected = "text in UTF-8; save the file as UTF-8 (in a spreadsheet: CSV UTF-8)";
        log.error(at..at.saturating_add(3), "invalid_utf8", &found, expected);
    }
    Some(Decoded { text, log })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(bytes: &[u8], text: Option<&str>, mistakes: &str) {
        let mut report = Report::default();
        let decoded = decode("f", bytes, 20, &mut report).map(|mut decoded| {
            decoded.log.move_into(&mut report);
            decoded.text.into_owned()
        });
        assert_eq!(decoded.as_deref(), text);
        assert_eq!(report.to_string(), mistakes);
    }

    #[test]
    fn text_is_told_from_what_is_none() {
        check(b"\xEF\xBB\xBFa\xC3\xA4", Some("aä"), "");
        check(
            b"a\nb\xFC\xE4,\xFC",
            Some("a\nb\u{FFFD}\u{FFFD},\u{FFFD}"),
            "f:2:2: error[invalid_utf8]: found `0xFC (byte 4, the first of 3)`, expected text in UTF-8; save the file as UTF-8 (in a spreadsheet: CSV UTF-8)",
        );
        check(
            b"\xEF\xBB\xBFa\nb\0\0",
            None,
            "f:2:2: error[not_text]: found `0x00 (byte 7)`, expected text in UTF-8, without zero bytes",
        );
        check(&[b'a'; 21], None, "f: error[file_too_large]: found `21 bytes`, expected at most 0 MiB");
    }
}
