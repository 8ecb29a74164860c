//! `edition.toml`: the name, the days and the rules of an edition.

use evenfare_engine::category::Category;
use evenfare_engine::money::Currency;
use evenfare_engine::period::Span;
use evenfare_engine::tariff::{CourierRow, InspectionRow, MarkupRow, PriceRow, TermsRow, WorkshopRow};
use evenfare_engine::text::Code;

use crate::decode::Decoded;
use crate::fields::Fields;
use crate::log::Log;
use crate::node::{Node, Places};
use crate::report::{Mistake, Says};
use crate::source::Bytes;
use crate::tariff::rows::{Row, span};
use crate::toml_tree;

/// Reads the sections of the file.
pub(super) fn read(decoded: Decoded) -> (Sections, Main) {
    let Decoded { text, mut log } = decoded;
    let root = toml_tree::parse(&text, &mut log);
    let places = Places::of(&root);
    (Sections::read(&root, &mut log), Main { log, places })
}

/// `edition.toml`, and where everything in it stands.
pub(super) struct Main {
    pub(super) log: Log,
    places: Places,
}

impl Main {
    /// Where that path stands, or the nearest thing it would be in.
    pub(super) fn place(&self, path: &str) -> Bytes {
        self.places.nearest(path)
    }

    /// A mistake about what stands at that path.
    pub(super) fn mistake(&self, path: &str, says: Says) -> Mistake {
        Mistake::in_text(self.log.source(), self.place(path), says)
    }
}

/// `[edition]`
#[derive(Clone)]
pub(super) struct Opening {
    pub(super) id: Code,
    pub(super) span: Span,
    pub(super) currency: Currency,
}

/// `edition.toml`; nothing stands for a section that could not be read.
pub(super) struct Sections {
    pub(super) opening: Option<Opening>,
    pub(super) workshop: Option<WorkshopRow>,
    pub(super) price: Option<PriceRow>,
    pub(super) courier: Option<CourierRow>,
    pub(super) inspection: Option<InspectionRow>,
    pub(super) terms: Option<TermsRow>,
    pub(super) markups: Option<Vec<MarkupRow>>,
}

impl Sections {
    fn read(root: &Node, log: &mut Log) -> Self {
        let Some(mut fields) = Fields::of(root, log) else {
            let (opening, workshop, price, courier) = (None, None, None, None);
            return Self { opening, workshop, price, courier, inspection: None, terms: None, markups: None };
        };
        let sections = Self {
            opening: section(&mut fields, "edition", |fields| {
                let errors = fields.log.errors();
                let (id, span, currency) = (fields.need("id"), span(fields), fields.need("currency"));
                // A span whose end was refused is not open; it says nothing of the editions beside it.
                let is_sound = fields.log.errors() == errors;
                is_sound.then_some(Opening { id: id?, span: span?, currency: currency? })
            }),
            workshop: section(&mut fields, "workshop", Row::take),
            price: section(&mut fields, "price", Row::take),
            courier: section(&mut fields, "courier", Row::take),
            inspection: section(&mut fields, "inspection", Row::take),
            terms: section(&mut fields, "terms", Row::take),
            markups: section(&mut fields, "markup", |fields| {
                let mut markup =
                    |name, category| fields.need(name).map(|percent| MarkupRow { category, percent });
                let part = markup("part", Category::Part);
                let labour = markup("labour", Category::Labour);
                let test = markup("test", Category::Test);
                let courier = markup("courier", Category::Courier);
                Some(vec![part?, labour?, test?, courier?])
            }),
        };
        fields.finish();
        sections
    }
}

/// A table of the file, its fields taken by a function, the rest of them reported.
fn section<T>(
    root: &mut Fields,
    name: &'static str,
    take: impl FnOnce(&mut Fields) -> Option<T>,
) -> Option<T> {
    root.need_with(name, "a table", |node, log| {
        let mut fields = Fields::of(node, log)?;
        let taken = take(&mut fields);
        fields.finish();
        taken
    })
}
