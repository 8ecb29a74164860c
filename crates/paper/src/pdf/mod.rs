//! Sheets as PDF: PDF/A-3a (ISO 19005-3, level A), tagged, with what belongs to them attached.
//!
//! The same sheet gives the same bytes (`the_same_sheet_gives_the_same_bytes`): the day of the document is
//! its only date, the fonts are carried in the crate, and nothing outside the call is looked at.

mod desk;
mod pages;

use evenfare_files::LogoKind;
use serde::Serialize;
use typst::diag::SourceDiagnostic;
use typst::foundations::Smart;
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards};

use crate::sheet::Sheet;
use desk::Setting;

/// A file that goes with a document, inside it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attachment {
    /// Its name, without folders.
    pub name: String,
    /// Byte for byte.
    pub bytes: Vec<u8>,
    /// What it is, in the reader's language.
    pub description: String,
    /// What sort of file it is: `application/xml`.
    pub media_type: String,
    /// What it is to the document.
    pub relationship: Relationship,
}

/// What an attached file is to its document (`AFRelationship`).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Relationship {
    /// The document was made from it.
    Source,
    /// What a picture in the document shows.
    Data,
    /// It says the same in another form.
    Alternative,
    /// It says more.
    Supplement,
}

/// Why a sheet cannot be set.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotSet {
    /// The fonts lack a letter: PDF/A wants every one of them shown.
    #[error("the document cannot be set: {found}")]
    Refused {
        /// What the typesetter says.
        found: String,
    },
    /// An attachment has a name of folders, an empty one, or one that another has too.
    #[error("`{found}` is no name for an attached file")]
    Name {
        /// What stood there.
        found: String,
    },
}

/// What the layout reads.
#[derive(Serialize)]
struct Data<'a> {
    #[serde(flatten)]
    sheet: &'a Sheet,
    logo: Option<&'static str>,
    close: bool,
    attached: Vec<Attached<'a>>,
}

#[derive(Serialize)]
struct Attached<'a> {
    name: &'a str,
    description: &'a str,
    media_type: &'a str,
    relationship: Relationship,
    from: usize,
    to: usize,
}

/// Sets a sheet and puts it into a PDF, with what is attached to it.
///
/// # Errors
/// [`NotSet`] where the fonts lack a letter of it, or an attachment's name will not do.
pub fn pdf(sheet: &Sheet, attachments: &[Attachment]) -> Result<Vec<u8>, NotSet> {
    let set = set(sheet, attachments);
    let pdf = set.and_then(|document| written(&document, sheet));
    // What the typesetter remembers of the last few documents makes the next one fast; all of it would grow.
    comemo::evict(REMEMBERED);
    pdf
}

/// How many documents later what was of no use is forgotten.
const REMEMBERED: usize = 3;

/// Sets a sheet on pages; closer, where that saves a last page of a few lines.
///
/// # Errors
/// As [`pdf`].
pub fn set(sheet: &Sheet, attachments: &[Attachment]) -> Result<PagedDocument, NotSet> {
    let (logo, picture) = match &sheet.head.logo {
        None => (None, None),
        Some(logo) => {
            let name = match logo.kind {
                LogoKind::Svg => "logo.svg",
                LogoKind::Png => "logo.png",
            };
            (Some(name), Some((name, logo.bytes.to_vec())))
        }
    };
    // All attachments are one file to the layout, which takes it apart: the typesetter never forgets a file's name.
    let mut all = Vec::new();
    let mut attached: Vec<Attached<'_>> = Vec::with_capacity(attachments.len());
    for file in attachments {
        let plain = !file.name.is_empty() && !file.name.contains(['/', '\\', '\0']) && file.name != "..";
        if !plain || file.name == "." || attached.iter().any(|other| other.name == file.name) {
            return Err(NotSet::Name { found: file.name.clone() });
        }
        let from = all.len();
        all.extend_from_slice(&file.bytes);
        attached.push(Attached {
            name: &file.name,
            description: &file.description,
            media_type: &file.media_type,
            relationship: file.relationship,
            from,
            to: all.len(),
        });
    }
    let mut data = Data { sheet, logo, close: false, attached };
    let set = |data: &Data<'_>| {
        let data = serde_json::to_vec(data).map_err(|error| NotSet::Refused { found: error.to_string() })?;
        let files = [("sheet.json", data), ("attached", all.clone())].into_iter().chain(picture.clone());
        let setting = Setting::new(files).ok_or_else(|| NotSet::Refused { found: "no layout".to_owned() })?;
        typst::compile(&setting).output.map_err(|errors| refused(&errors))
    };
    let wide: PagedDocument = set(&data)?;
    if !pages::ends_on_a_few_lines(&wide) {
        return Ok(wide);
    }
    data.close = true;
    let close = set(&data)?;
    // Closer lines that save no page are only harder to read.
    Ok(if close.pages().len() < wide.pages().len() { close } else { wide })
}

fn written(document: &PagedDocument, sheet: &Sheet) -> Result<Vec<u8>, NotSet> {
    let standards = PdfStandards::new(&[PdfStandard::A_3a])
        .map_err(|error| NotSet::Refused { found: error.message().to_string() })?;
    let options = PdfOptions {
        ident: Smart::Custom(sheet.identity.clone()),
        creator: Smart::Custom(Some("Evenfare".to_owned())),
        standards,
        ..PdfOptions::default()
    };
    typst_pdf::pdf(document, &options).map_err(|errors| refused(&errors))
}

fn refused(errors: &[SourceDiagnostic]) -> NotSet {
    let messages: Vec<&str> = errors.iter().map(|error| error.message.as_str()).collect();
    NotSet::Refused { found: messages.join("; ") }
}
