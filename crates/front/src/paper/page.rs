//! Documents as PDF.

use evenfare_engine::text::Code;
use evenfare_paper::Invoice;
use evenfare_paper::pdf::{Attachment, NotSet, Relationship, pdf};
use evenfare_paper::sheet::{self, Given, NoSheet, Sheet};

use super::kind::{Format, Kind};
use super::refused::NotMade;
use super::source::Setting;

impl From<NoSheet> for NotMade {
    fn from(error: NoSheet) -> Self {
        // Whose sight it is and which offers there are was looked at before.
        Self::Internal(error.to_string())
    }
}

impl From<NotSet> for NotMade {
    fn from(error: NotSet) -> Self {
        match error {
            NotSet::Refused { .. } => Self::NotWritable(error.to_string()),
            NotSet::Name { .. } => Self::Internal(error.to_string()),
        }
    }
}

/// The sheet of a quote; `partner` is whose it is, where it is a partner's.
pub(super) fn of_quote(
    setting: Setting<'_>,
    kind: Kind,
    offer: &str,
    partner: Option<&Code>,
) -> Result<Vec<u8>, NotMade> {
    let given = &setting.given();
    let sheet = match (kind, partner) {
        (Kind::Office, _) => sheet::office(given)?,
        (Kind::Bench, _) => sheet::bench(given, offer)?,
        (Kind::Partner, Some(partner)) => sheet::partner(given, partner)?,
        _ => sheet::quote(given)?,
    };
    setting.set(&sheet)
}

/// An invoice, or a credit note.
pub(super) fn of_sale(setting: Setting<'_>, kind: Kind, invoice: &Invoice<'_>) -> Result<Vec<u8>, NotMade> {
    let sheet = if kind == Kind::CreditNote { sheet::credit_note } else { sheet::invoice };
    let sheet = sheet(&setting.given(), invoice)?;
    setting.set(&sheet)
}

impl Setting<'_> {
    fn given(&self) -> Given<'_> {
        Given {
            view: self.view,
            number: self.source.number.map(Code::as_str),
            state: self.source.state,
            stationery: self.source.stationery,
            language: self.language,
        }
    }

    /// On pages, with what is attached.
    fn set(self, sheet: &Sheet) -> Result<Vec<u8>, NotMade> {
        let attachment = |(name, bytes)| Attachment {
            description: format!("{} (UBL 2.1)", sheet.title),
            media_type: Format::Xml.media_type().to_owned(),
            relationship: Relationship::Alternative,
            name,
            bytes,
        };
        let attached: Vec<Attachment> = self.attached.into_iter().map(attachment).collect();
        Ok(pdf(sheet, &attached)?)
    }
}
