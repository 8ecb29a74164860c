//! `evenfare paper`: a document of a quote or an invoice, as a file.

use std::io::{self, IsTerminal as _};
use std::path::Path;

use evenfare_paper::State;

use super::args::Sight;
use super::args::paper::PaperArgs;
use super::input;
#[cfg(feature = "serve")]
use super::keeping::{self, paper::NoDocument};
use super::outcome::{Answer, Failure};
use super::output::write_new;
use super::text::{Page, style};
use crate::paper::{Asked, Document, Format, Kind, NotMade, Source, of_quote};

/// Writes the document.
pub(super) fn run(args: &PaperArgs) -> Result<Answer, Failure> {
    let to_output = args.output.as_os_str() == "-";
    if to_output && io::stdout().is_terminal() {
        return Err(Failure::Usage(String::from(
            "a document is not for a terminal; name a file, or send standard output elsewhere",
        )));
    }
    let asked = Asked {
        reader: args.read_by.reader.clone(),
        kind: args.kind.unwrap_or(Kind::Quote),
        format: format(args)?,
        language: args.language,
        offer: args.offer.clone(),
    };
    asked.check().map_err(not_made)?;
    let (document, note) = document(args, asked)?;
    let mut page = Page::default();
    if let Some(why) = &document.without_xml {
        page.labelled(style::CARE, "warning", &format!("no XML is attached: {why}"));
    }
    let note = format!("{note}{}", page.finish());
    if to_output {
        return Ok(Answer { document: document.bytes, ..Answer::new("") }.with_note(note));
    }
    let path = match args.output.is_dir() {
        true => args.output.join(&document.name),
        false => args.output.clone(),
    };
    write_new(&path, &document.bytes)?;
    let mut page = Page::default();
    page.paragraph(0, style::PLAIN, &format!("Wrote {}.", path.display()));
    Ok(Answer::new(page.finish()).with_note(note))
}

/// As asked for, or as the file that is to be written ends: under another ending no program would open it.
fn format(args: &PaperArgs) -> Result<Format, Failure> {
    let output = &args.output;
    if output.as_os_str() == "-" || output.is_dir() {
        return Ok(args.format.unwrap_or(Format::Pdf));
    }
    let formats: &[Format] = match &args.format {
        Some(asked) => std::slice::from_ref(asked),
        None => &[Format::Pdf, Format::Xml],
    };
    let ending = output.extension().unwrap_or_default();
    let told = formats.iter().find(|format| ending.eq_ignore_ascii_case(format.ending()));
    told.copied().ok_or_else(|| {
        let endings: Vec<String> = formats.iter().map(|format| format!(".{}", format.ending())).collect();
        let (name, endings) = (output.display(), endings.join(" or "));
        Failure::Usage(format!("{name}: expected a name that ends in {endings}, or a folder that is there"))
    })
}

/// Of a job, or of what has that number; and what is to be said beside it.
fn document(args: &PaperArgs, asked: Asked) -> Result<(Document, String), Failure> {
    #[cfg(feature = "serve")]
    if let Some(number) = keeping::place::number(&args.what, &args.by, &args.kept)? {
        let document = keeping::paper::document(&number, args, asked).map_err(|error| match error {
            NoDocument::Failure(failure) => failure,
            NoDocument::NotMade(error) => not_made(error),
        })?;
        return Ok((document, String::new()));
    }
    of_a_job(&args.what, &args.by.folder(), &asked)
}

/// A draft, priced now and kept nowhere; and what is to be said beside it.
fn of_a_job(job: &Path, tariff: &Path, asked: &Asked) -> Result<(Document, String), Failure> {
    if asked.kind.is_of_books() {
        return Err(Failure::Usage(format!(
            "a draft has no {0}: issue the quote, have it accepted, and name the number of its {0}",
            asked.kind.word()
        )));
    }
    let input = input::read(job, tariff)?;
    let quote = input.quote(&Sight::of(asked.reader.clone()))?;
    let stationery = input.stationery(&quote);
    let source = Source { quote: &quote, number: None, state: State::InForce, stationery };
    Ok((of_quote(&source, asked).map_err(not_made)?, input.note(tariff)))
}

/// Why there is no document.
pub(super) fn not_made(error: NotMade) -> Failure {
    match error {
        NotMade::NotWritable(why) => Failure::BadInput("not_writable", why),
        NotMade::Internal(why) => Failure::Internal(why),
        NotMade::WhichPartner { .. } => Failure::Usage(format!("--as partner:CODE: {error}")),
        NotMade::NotHis { kind } => {
            let whose = match kind {
                Kind::Quote => {
                    "it is for who sells to the customer; --kind partner is for the other partners"
                }
                Kind::Partner => "it is for the partner himself",
                Kind::Office | Kind::Bench => "it is for the office",
                Kind::Invoice | Kind::CreditNote => "it is for whoever buys of the workshop",
            };
            Failure::Usage(format!("{error}: {whose}"))
        }
        NotMade::NoXml { .. }
        | NotMade::OfAllOffers { .. }
        | NotMade::Offer { .. }
        | NotMade::OtherKind { .. }
        | NotMade::NoPdf => Failure::Usage(error.to_string()),
    }
}
