//! What a reader sees, as plain data: the stable form of a quote.

use chrono::NaiveDate;
use compact_str::CompactString;

use crate::category::Category;
use crate::flag::Flag;
use crate::quote::{OfferedFinding, PlanStep};
use crate::supply::VatCategory;
use crate::tariff::Party;
use crate::terms::{OpenCover, Warranty};
use crate::text::{Code, Text};
use crate::trail::Step;

macro_rules! views {
    ($($(#[$doc:meta])* pub struct $name:ident { $($(#[$field_doc:meta])* pub $field:ident: $type:ty,)* })*) => { $(
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq)]
        #[cfg_attr(feature = "serde", derive(serde::Serialize))]
        pub struct $name { $($(#[$field_doc])* pub $field: $type,)* }
    )* };
}

views! {
    /// What one reader sees of a quote; as JSON, the quote's stable form.
    ///
    /// Amounts end in `_minor` and are whole minor units of `currency`. Dates are `YYYY-MM-DD`,
    /// percentages and quantities text. What the reader may not see is left out.
    pub struct View {
        /// The job's reference.
        pub reference: Code,
        /// 1 for the first quote, then one more for each correction.
        pub revision: u32,
        /// Is it the opposite entry of that revision?
        pub reversal: bool,
        /// The tariff edition it was priced by.
        pub edition: Code,
        /// Of every amount.
        pub currency: String,
        /// The day the units arrived.
        pub received: NaiveDate,
        /// The day of the quote.
        pub quoted: NaiveDate,
        /// The last day on which it can be accepted.
        pub valid_until: NaiveDate,
        /// The day the units go back.
        pub dispatch: NaiveDate,
        /// The day VAT goes by.
        pub tax_date: NaiveDate,
        /// Who sells first.
        pub workshop: Party,
        /// The partners the reader deals with, nearest to the workshop first: all of them for the
        /// office, himself and his neighbours for a partner, the last one for the customer.
        pub route: Vec<Party>,
        /// Who pays the end price.
        pub customer: Party,
        /// The job itself.
        #[cfg_attr(feature = "serde", serde(flatten))]
        pub main: OfferView,
        /// Other ways to do it; one of all is accepted.
        pub alternatives: Vec<OfferView>,
        /// Other ways that this route cannot carry; not for the customer.
        pub refused: Vec<RefusedView>,
    }

    /// A way to do the job that the route cannot carry.
    pub struct RefusedView {
        /// The alternative's name.
        pub offer: CompactString,
        /// What the end customer would pay by any other route.
        pub end_net_minor: i64,
        /// What the shares as agreed come to.
        #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
        pub shares_minor: Option<i64>,
        /// What the workshop's floor leaves for them.
        #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
        pub available_minor: Option<i64>,
        /// The partner whose agreement refuses it.
        #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
        pub refused_by: Option<Code>,
    }

    /// One way to do the job.
    pub struct OfferView {
        /// `main`, or the alternative's name.
        pub offer: Box<str>,
        /// In words.
        pub text: Box<str>,
        /// What the end customer pays.
        pub end: EndView,
        /// Sales from the workshop outward, those that the reader may see.
        pub sales: Vec<SaleView>,
        /// What each partner keeps, those that the reader may see.
        pub shares: Vec<ShareView>,
        /// What the workshop keeps.
        #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
        pub workshop_net_minor: Option<i64>,
        /// What the workshop spends.
        #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
        pub cost_minor: Option<i64>,
        /// What is left of the one over the other.
        #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
        pub contribution_minor: Option<i64>,
        /// The cost lines.
        #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
        pub costs: Option<Vec<CostView>>,
        /// The warranty that ends first among the units.
        pub warranty: Option<Warranty>,
        /// What is done to each unit.
        pub units: Vec<UnitView>,
        /// Stable names of what somebody should know.
        pub flags: Vec<Flag>,
        /// The working of each figure that the reader may see.
        pub working: Vec<Step>,
    }

    /// What the end customer pays.
    pub struct EndView {
        /// Before VAT.
        pub net_minor: i64,
        /// The lines it is the sum of.
        pub lines: Vec<LineView>,
        /// The standard rate of his country, in percent.
        pub vat_rate: Option<String>,
        /// VAT in his country, charged by the last seller or declared by himself.
        pub vat_due_minor: Option<i64>,
        /// Net and VAT due.
        pub gross_minor: Option<i64>,
    }

    /// A line of the end price.
    pub struct LineView {
        /// Its name.
        pub id: CompactString,
        /// What it is for.
        pub category: Category,
        /// In words.
        pub text: CompactString,
        /// How much, with its unit.
        pub quantity: CompactString,
        /// What it comes to.
        pub net_minor: i64,
    }

    /// A cost line.
    pub struct CostView {
        /// Its name.
        pub id: CompactString,
        /// What it is for.
        pub category: Category,
        /// In words.
        pub text: CompactString,
        /// How much, with its unit.
        pub quantity: CompactString,
        /// What it comes to.
        pub cost_minor: i64,
        /// A partner carries it; it is not the workshop's.
        pub carried_by_partner: bool,
    }

    /// One sale.
    pub struct SaleView {
        /// `workshop` or the partner's code.
        pub seller: Code,
        /// The partner's code or `customer`.
        pub buyer: Code,
        /// What the buyer pays, before VAT.
        pub net_minor: i64,
        /// By category and rate.
        pub vat: Vec<VatView>,
        /// With the VAT that the seller charges.
        pub gross_minor: i64,
        /// What the buyer pays, by line.
        pub lines: Vec<SaleLineView>,
    }

    /// One VAT group.
    pub struct VatView {
        /// S, AE, K, G or O (EN 16931).
        pub category: VatCategory,
        /// In percent: 0 where the buyer owes the VAT or goods leave, nothing where there is no VAT.
        pub rate: Option<String>,
        /// What it is charged on.
        pub base_minor: i64,
        /// The VAT.
        pub tax_minor: i64,
        /// Why none is charged.
        pub reason: Option<&'static str>,
    }

    /// What the buyer pays for one line.
    pub struct SaleLineView {
        /// The line of the end price.
        pub id: CompactString,
        /// What the buyer pays for it.
        pub net_minor: i64,
    }

    /// What a partner keeps.
    pub struct ShareView {
        /// His code.
        pub partner: Code,
        /// What he keeps of the end price.
        pub share_minor: i64,
    }

    /// A unit.
    pub struct UnitView {
        /// Its name in the job.
        pub id: Code,
        /// Its family.
        pub family: Code,
        /// The family in words.
        pub family_text: Text,
        /// Serial number.
        pub serial: Text,
        /// What is done.
        pub task: crate::job::Task,
        /// What was found.
        pub findings: Vec<OfferedFinding>,
        /// What is done, and why.
        pub plan: Vec<PlanStep>,
        /// The warranty it leaves with.
        pub warranty: Option<Warranty>,
        /// The warranty it came back under, where that is open.
        pub open_cover: Option<OpenCover>,
    }
}
