//! What the digests of the chain are taken over.
//!
//! Every field stands there with its length, every list with its count, and a tag in front says what is
//! encoded and how, so that no two things have the same encoding.

use chrono::NaiveDate;
use evenfare_engine::text::Code;
use sha2::{Digest as _, Sha256};

use crate::caller::{CredentialKind, Role};
use crate::digest::Digest;
use crate::entry::Content;
use crate::event::Event;
use crate::invoice::{Billed, Sale};

/// A digest of fields, each with its length.
struct Fields(Sha256);

impl Fields {
    fn tagged(tag: &str) -> Self {
        Self(Sha256::new()).bytes(tag.as_bytes())
    }

    fn bytes(mut self, bytes: &[u8]) -> Self {
        // A length fits 64 bits on every machine there is.
        self.0.update(u64::try_from(bytes.len()).unwrap_or(u64::MAX).to_be_bytes());
        self.0.update(bytes);
        self
    }

    fn text(self, text: &str) -> Self {
        self.bytes(text.as_bytes())
    }

    fn int(self, int: i64) -> Self {
        self.bytes(&int.to_be_bytes())
    }

    fn day(self, day: NaiveDate) -> Self {
        self.text(&day.to_string())
    }

    /// Whether it is there, and then the field.
    fn optional<T>(self, value: Option<T>, field: impl FnOnce(Self, T) -> Self) -> Self {
        match value {
            None => self.bytes(&[0]),
            Some(value) => field(self.bytes(&[1]), value),
        }
    }

    fn codes<'a>(self, codes: impl ExactSizeIterator<Item = &'a Code>) -> Self {
        let counted = self.int(i64::try_from(codes.len()).unwrap_or(i64::MAX));
        codes.fold(counted, |fields, code| fields.text(code.as_str()))
    }

    fn digest(self) -> Digest {
        Digest::from(<[u8; 32]>::from(self.0.finalize()))
    }
}

/// The digest of an entry.
pub(crate) fn digest_of_entry(content: &Content) -> Digest {
    // Every field by name, so that a new one is not forgotten.
    let Content { revision, reversal, reference, customer, edition, currency, .. } = content;
    let Content { quoted, valid_until, end_net_minor, offers, partners, document, .. } = content;
    // The first entries were written down without what their offers come to.
    let is_first_form = offers.iter().all(|offer| offer.net_minor.is_none());
    let fields = Fields::tagged(if is_first_form { "evenfare entry 1" } else { "evenfare entry 2" })
        .int(i64::from(*revision))
        .int(i64::from(*reversal))
        .text(reference.as_str())
        .text(customer.as_str())
        .text(edition.as_str())
        .text(currency.code())
        .day(*quoted)
        .day(*valid_until)
        .int(*end_net_minor)
        .codes(offers.iter().map(|offer| &offer.id))
        .codes(partners.iter())
        .bytes(document);
    if is_first_form {
        return fields.digest();
    }
    // As many as there are offers.
    offers.iter().fold(fields, |fields, offer| fields.optional(offer.net_minor, Fields::int)).digest()
}

/// The digest of an invoice or a credit note.
pub(crate) fn digest_of_invoice(billed: &Billed) -> Digest {
    let Billed { quote, revision, offer, preceding, partner, issued, due, currency, sale } = billed;
    let Sale { net_minor, gross_minor } = sale;
    Fields::tagged("evenfare invoice 1")
        .text(&quote.to_string())
        .int(i64::from(*revision))
        .text(offer.as_str())
        .optional(preceding.as_ref(), |fields, preceding| fields.text(&preceding.to_string()))
        .optional(partner.as_ref(), |fields, partner| fields.text(partner.as_str()))
        .day(*issued)
        .optional(*due, Fields::day)
        .text(currency.code())
        .int(*net_minor)
        .int(*gross_minor)
        .digest()
}

/// The digest of an edition.
pub(crate) fn digest_of_edition(
    code: &Code,
    from: NaiveDate,
    until: Option<NaiveDate>,
    currency: &str,
    archive: &[u8],
) -> Digest {
    Fields::tagged("evenfare edition 1")
        .text(code.as_str())
        .day(from)
        .optional(until, Fields::day)
        .text(currency)
        .bytes(archive)
        .digest()
}

/// The digest of a caller.
pub(crate) fn digest_of_caller(
    name: &Code,
    role: &Role,
    kind: CredentialKind,
    credential: &Digest,
) -> Digest {
    Fields::tagged("evenfare caller 1")
        .text(name.as_str())
        .text(&role.to_string())
        .text(kind.code())
        .bytes(credential.as_bytes())
        .digest()
}

/// The hash of an event, over all its other fields.
pub(crate) fn hash_of(event: &Event) -> Digest {
    let Event { sequence, kind, recorded, caller, request_id, fingerprint, subject, .. } = event;
    let Event { revision, offer, settled, reason, content, previous, hash: _, .. } = event;
    Fields::tagged("evenfare event 1")
        .bytes(&sequence.to_be_bytes())
        .text(kind.code())
        .int(recorded.timestamp_micros())
        .text(caller.as_str())
        .text(request_id.as_str())
        .bytes(fingerprint.as_bytes())
        .text(subject)
        .optional(*revision, |fields, revision| fields.int(i64::from(revision)))
        .optional(offer.as_ref(), |fields, offer| fields.text(offer.as_str()))
        .optional(*settled, Fields::day)
        .text(reason.as_str())
        .optional(*content, |fields, content| fields.bytes(content.as_bytes()))
        .bytes(previous.as_bytes())
        .digest()
}
