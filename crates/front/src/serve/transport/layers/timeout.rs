//! The header `grpc-timeout`: how long the caller waits.

use std::time::Duration;

use http::{HeaderMap, HeaderName, HeaderValue};
use tonic::Status;

pub(super) const GRPC_TIMEOUT: HeaderName = HeaderName::from_static("grpc-timeout");
/// Digits that the protocol allows.
const MOST_DIGITS: usize = 8;

/// How long the caller waits, where the request says so.
///
/// # Errors
///
/// INVALID_ARGUMENT where the header is there and says nothing that the protocol knows.
pub(super) fn asked(headers: &HeaderMap) -> Result<Option<Duration>, Status> {
    let Some(value) = headers.get(GRPC_TIMEOUT) else { return Ok(None) };
    match read(value) {
        Some(timeout) => Ok(Some(timeout)),
        None => Err(Status::invalid_argument(
            "`grpc-timeout` is not 1 to 8 digits followed by one of H, M, S, m, u, n",
        )),
    }
}

fn read(value: &HeaderValue) -> Option<Duration> {
    let text = value.to_str().ok()?;
    let (digits, unit) = text.split_at_checked(text.len().checked_sub(1)?)?;
    let well_formed = (1..=MOST_DIGITS).contains(&digits.len()) && digits.bytes().all(|b| b.is_ascii_digit());
    let count: u64 = digits.parse().ok().filter(|_| well_formed)?;
    Some(match unit {
        "H" => Duration::from_secs(count.checked_mul(3600)?),
        "M" => Duration::from_secs(count.checked_mul(60)?),
        "S" => Duration::from_secs(count),
        "m" => Duration::from_millis(count),
        "u" => Duration::from_micros(count),
        "n" => Duration::from_nanos(count),
        _ => return None,
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn check(value: &str, expect: Option<Duration>) {
        assert_eq!(read(&HeaderValue::from_str(value).unwrap()), expect, "{value:?}");
    }

    #[test]
    fn all_units() {
        check("2H", Some(Duration::from_secs(7200)));
        check("3M", Some(Duration::from_secs(180)));
        check("4S", Some(Duration::from_secs(4)));
        check("5m", Some(Duration::from_millis(5)));
        check("6u", Some(Duration::from_micros(6)));
        check("7n", Some(Duration::from_nanos(7)));
        check("0n", Some(Duration::ZERO));
        check("99999999H", Some(Duration::from_secs(99_999_999 * 3600)));
    }

    #[test]
    fn whatever_else_is_malformed() {
        for value in ["", "S", "5", "123456789S", "5s", "5h", "-5S", "+5S", " 5S", "5 S", "1.5S", "5Sm"] {
            check(value, None);
        }
        assert_eq!(read(&HeaderValue::from_bytes(b"5\xc3\xbc").unwrap()), None);
    }

    #[test]
    fn a_malformed_header_is_the_callers_mistake() {
        let mut headers = HeaderMap::new();
        assert_eq!(asked(&headers).unwrap(), None);
        headers.insert("grpc-timeout", "1 minute".parse().unwrap());
        assert_eq!(asked(&headers).unwrap_err().code(), tonic::Code::InvalidArgument);
    }
}
