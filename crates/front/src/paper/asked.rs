//! Which document is asked for, and of whose sight it is made.

use evenfare_engine::language::Language;
use evenfare_engine::quote::Quote;
use evenfare_engine::tariff::Party;
use evenfare_engine::view::Reader;

use super::kind::{Format, Kind};
use super::refused::NotMade;

/// Which document, by whom.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asked {
    /// Who asks. The office gets each document of each reader.
    pub reader: Reader,
    /// What.
    pub kind: Kind,
    /// How.
    pub format: Format,
    /// In which language; that of whom it is for, or the letterhead's, where it is not said.
    pub language: Option<Language>,
    /// Of which way to do the job, where a document is of one alone; the job itself where it is not said.
    pub offer: Option<String>,
}

impl Asked {
    /// What does not go together, whatever the quote.
    ///
    /// # Errors
    /// [`NotMade::NoXml`] or [`NotMade::OfAllOffers`].
    pub fn check(&self) -> Result<(), NotMade> {
        let Self { kind, format, offer, .. } = self;
        let of_one_offer = *kind == Kind::Bench || (*format == Format::Xml && !kind.is_of_books());
        match (format, offer) {
            (Format::Xml, _) if !kind.has_xml() => Err(NotMade::NoXml { kind: *kind }),
            (_, Some(_)) if !of_one_offer => Err(NotMade::OfAllOffers { kind: *kind }),
            (Format::Pdf, _) if cfg!(not(feature = "pdf")) => Err(NotMade::NoPdf),
            _ => Ok(()),
        }
    }

    /// Whose sight a document of a quote is made of, where whoever asks may have it.
    ///
    /// The customer's quote is for who sells to him: a partner before the last on the route learns from his
    /// own sheet what he has to know.
    pub(super) fn sight(&self, quote: &Quote) -> Result<Reader, NotMade> {
        let not_his = || NotMade::NotHis { kind: self.kind };
        let partners: Vec<&Party> = quote.route.iter().collect();
        match (self.kind, &self.reader) {
            (Kind::Quote, Reader::Office | Reader::Accountant | Reader::Customer) => Ok(Reader::Customer),
            (Kind::Quote, Reader::Partner(own)) => {
                let sells = partners.last().is_some_and(|last| last.code == *own);
                if sells { Ok(Reader::Customer) } else { Err(not_his()) }
            }
            (Kind::Partner, Reader::Partner(own)) => {
                let is_on_it = partners.iter().any(|party| party.code == *own);
                if is_on_it { Ok(self.reader.clone()) } else { Err(not_his()) }
            }
            (Kind::Partner, Reader::Office | Reader::Accountant) => match partners.as_slice() {
                [only] => Ok(Reader::Partner(only.code.clone())),
                _ => Err(NotMade::WhichPartner {
                    partners: partners.iter().map(|party| party.code.to_string()).collect(),
                }),
            },
            (Kind::Office | Kind::Bench, Reader::Office | Reader::Accountant) => Ok(Reader::Office),
            _ => Err(not_his()),
        }
    }

    /// Whose sight the invoice or the credit note of the workshop's own sale is made of: its buyer's, whoever
    /// asks. Nobody else outside the house may have it: what the first partner pays is no customer's concern.
    ///
    /// # Errors
    /// [`NotMade::NotHis`].
    pub fn sight_of_sale(&self, quote: &Quote) -> Result<Reader, NotMade> {
        let first = quote.route.first();
        let buyer = first.map_or(Reader::Customer, |party| Reader::Partner(party.code.clone()));
        match &self.reader {
            Reader::Office | Reader::Accountant => Ok(buyer),
            reader if *reader == buyer => Ok(buyer),
            Reader::Partner(_) | Reader::Customer => Err(NotMade::NotHis { kind: self.kind }),
        }
    }
}
