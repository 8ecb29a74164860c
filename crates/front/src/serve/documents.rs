//! Documents on the wire: which is asked for, made apart, sent in pieces.

use evenfare_engine::problem::{Place, Problem};
use evenfare_engine::text::Code;
use evenfare_engine::view::Reader;
use evenfare_store::number::Number;
use tonic::codegen::BoxStream;

use super::access::Who;
use super::ask;
use super::house::House;
use super::papers::Found;
use super::refusal::Refusal;
use crate::kept::sight;
use crate::paper::{Asked, Document, Format, Kind, NotMade};
use crate::wire::message::Message;
use crate::wire::mistakes::Objection;
use crate::wire::pb;

/// Where the choice stands in every message that has one.
const CHOICE: &str = "document";
/// How long a piece is at most, in bytes.
const PIECE: usize = 64 << 10;

/// Which document of what.
struct Choice {
    number: Number,
    which: Option<(u32, bool)>,
    asked: Asked,
}

impl House {
    /// The document that is asked for, in pieces. `partner` is whose sheet the office wants.
    pub(super) async fn document<T: Send + 'static>(
        &self,
        who: &Who,
        wire: Option<&pb::DocumentChoice>,
        partner: &str,
        piece: fn(pb::DocumentPiece) -> T,
    ) -> Result<BoxStream<T>, Refusal> {
        let reader = who.reader();
        let choice = choice(wire, partner, reader.clone())?;
        let (desks, taken_on) = match &who.room {
            None => (&self.documents, self.documents.take_on()?),
            Some(room) => {
                let desks = &self.documents_of_partners;
                (desks, desks.take_on_of(&room.documents, "documents of this partner under way")?)
            }
        };
        // Those who wait do not hold what is long.
        let short = Some(self.found(&choice, &reader).await?).filter(|found| !found.is_long());
        let desk = desks.seat(taken_on).await?;
        let found = match short {
            Some(found) => found,
            None => self.found(&choice, &reader).await?,
        };
        let (code, asked) = (found.edition().clone(), choice.asked);
        let published = self.editions_with(&code).await?;
        let made = desk.work(move || {
            let kept = found.opened()?;
            let (tariffs, code) = (&published.tariffs, code.as_str());
            let (stationery, edition) = (tariffs.stationery(code), tariffs.edition(code));
            kept.document(stationery, edition, &asked).map_err(Refusal::from)
        });
        let document = made.await??;
        Ok(Box::pin(async_stream::stream! {
            for next in pieces(document) {
                yield Ok(piece(next));
            }
        }))
    }

    /// What the document is of.
    async fn found(&self, choice: &Choice, reader: &Reader) -> Result<Found, Refusal> {
        let Choice { number, which, asked } = choice;
        let (store, sight) = (&*self.store, sight(reader));
        if asked.kind.is_of_books() {
            Found::invoice(store, number, &sight).await?.ok_or(Refusal::NoSuchInvoice)
        } else {
            Found::quote(store, number, *which, &sight).await?.ok_or(Refusal::NoSuchQuote)
        }
    }
}

/// The whole in pieces, the first of them with what it is.
fn pieces(document: Document) -> impl Iterator<Item = pb::DocumentPiece> {
    let Document { name, media_type, bytes, without_xml } = document;
    let mut head = Some(pb::DocumentHead {
        file_name: name,
        media_type: media_type.to_owned(),
        size: u64::try_from(bytes.len()).unwrap_or(u64::MAX),
        without_xml: without_xml.unwrap_or_default(),
    });
    let mut sent = 0_usize;
    std::iter::from_fn(move || {
        let rest = bytes.get(sent..).filter(|rest| !rest.is_empty())?;
        let content = rest.get(..PIECE).unwrap_or(rest).to_vec();
        sent = sent.saturating_add(content.len());
        Some(pb::DocumentPiece { head: head.take(), content })
    })
}

fn choice(wire: Option<&pb::DocumentChoice>, partner: &str, reader: Reader) -> Result<Choice, Refusal> {
    ask::read(|at| {
        let choice = at.message(CHOICE, wire, "which document", |at, wire| chosen(at, wire, reader));
        let partner = at.if_said::<Code>("partner", Some(partner));
        let (mut choice, partner) = (choice?, partner?);
        if let Some(partner) = partner {
            if choice.asked.kind != Kind::Partner {
                let expected = "nothing: whose sheet is said where a partner's is asked for";
                return at.at("partner").refuse(Objection::new(
                    "not_of_a_partner",
                    partner.as_str(),
                    expected,
                ));
            }
            choice.asked.reader = Reader::Partner(partner);
        }
        Some(choice)
    })
}

fn chosen(mut at: Message<'_>, wire: &pb::DocumentChoice, reader: Reader) -> Option<Choice> {
    let number = at.needed("number", &wire.number);
    let which = ask::revision(&mut at, wire.revision, wire.reversal);
    let kind = at.said("kind", wire.kind, pb::DocumentKind::said, "a kind, from 1 to 6");
    let format = at.word("format", wire.format, "1 pdf or 2 xml; 0 says nothing");
    let format = format.map(|format| match format {
        pb::DocumentFormat::Unspecified | pb::DocumentFormat::Pdf => Format::Pdf,
        pb::DocumentFormat::Xml => Format::Xml,
    });
    let language = at.if_said("language_code", Some(&wire.language_code));
    let offer = at.if_said::<Code>("offer", Some(&wire.offer));
    let asked = Asked {
        reader,
        kind: kind?,
        format: format?,
        language: language?,
        offer: offer?.map(|offer| offer.to_string()),
    };
    match asked.check() {
        Err(NotMade::NoXml { .. }) => {
            at.at("format").refuse(Objection::new("no_xml", "2", "1: there is no XML of this kind"))
        }
        Err(NotMade::OfAllOffers { .. }) => {
            let found = asked.offer.unwrap_or_default();
            let expected = "nothing: an offer is said for a bench sheet or the XML of a quote";
            at.at("offer").refuse(Objection::new("of_all_offers", found, expected))
        }
        // What else there is against it is no mistake of the message.
        _ => Some(Choice { number: number?, which: which?, asked }),
    }
}

impl pb::DocumentKind {
    /// What it is; none where it is not said.
    const fn said(self) -> Option<Kind> {
        Some(match self {
            Self::Unspecified => return None,
            Self::Quote => Kind::Quote,
            Self::Partner => Kind::Partner,
            Self::Office => Kind::Office,
            Self::Bench => Kind::Bench,
            Self::Invoice => Kind::Invoice,
            Self::CreditNote => Kind::CreditNote,
        })
    }
}

impl From<NotMade> for Refusal {
    fn from(error: NotMade) -> Self {
        let field = |field, code, found: &str| {
            let expected = error.to_string();
            Self::problem(Problem::error(Place::field(field), code, found, expected))
        };
        match &error {
            NotMade::NotHis { .. } | NotMade::OtherKind { .. } => Self::NoSuchDocument(error.to_string()),
            NotMade::WhichPartner { .. } => field("partner", "which_partner", ""),
            NotMade::Offer { found, .. } => field("document.offer", "unknown_offer", found),
            NotMade::NoXml { .. } => field("document.format", "no_xml", ""),
            NotMade::OfAllOffers { .. } => field("document.offer", "of_all_offers", ""),
            NotMade::NotWritable(why) => Self::NotWritable(why.clone()),
            NotMade::NoPdf => Self::NoPdf,
            NotMade::Internal(why) => Self::Internal(why.clone()),
        }
    }
}
