//! The job: what arrived, for whom, by which route.

use chrono::NaiveDate;

use crate::category::{Work, words};
use crate::country::Country;
use crate::language::Language;
use crate::money::{Currency, Quantity, UnitPrice};
use crate::text::{Code, Text};

words! {
    /// What is to be done with a unit.
    #[derive(Default)]
    Task {
        /// Replace what is broken and everything likely to have aged.
        #[default]
        Refresh = "refresh",
        /// Send another unit of the family and keep this one.
        Exchange = "exchange",
        /// Declined after diagnosis: it goes back as it came.
        Decline = "decline",
    }
}

macro_rules! records {
    ($($(#[$doc:meta])* pub struct $name:ident { $($(#[$field:meta])* pub $field_name:ident: $type:ty,)* })*) => { $(
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq)]
        #[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(deny_unknown_fields))]
        pub struct $name { $($(#[$field])* pub $field_name: $type,)* }
    )* };
}

records! {
    /// A job as it is written down on arrival.
    ///
    /// Plain data; it is held against a tariff edition when it is priced, and every mistake in it
    /// is reported then, with its place.
    pub struct Job {
        /// The workshop's reference.
        pub reference: Code,
        /// The day it arrived. Picks the tariff edition and the agreements.
        pub received: NaiveDate,
        /// The day of the quote; the day of receipt where it is not said.
        #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "Option::is_none"))]
        pub quoted: Option<NaiveDate>,
        /// The day it goes back; the later of receipt and quote, plus the usual turnaround, where it is not said.
        #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "Option::is_none"))]
        pub dispatch: Option<NaiveDate>,
        /// The day VAT goes by; the day of dispatch where it is not said.
        #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "Option::is_none"))]
        pub tax_date: Option<NaiveDate>,
        /// The currency of the quote; the tariff's where it is not said.
        #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "Option::is_none"))]
        pub currency: Option<Currency>,
        /// Who owns the unit and pays the end price.
        pub customer: Customer,
        /// The partners between workshop and customer, nearest to the workshop first; empty is direct.
        #[cfg_attr(feature = "serde", serde(default))]
        pub route: Vec<Stop>,
        /// Extras asked for.
        #[cfg_attr(feature = "serde", serde(default))]
        pub extras: Vec<Code>,
        /// The units that travel together.
        pub units: Vec<Unit>,
        /// Other ways to do it, priced beside the first.
        #[cfg_attr(feature = "serde", serde(default))]
        pub alternatives: Vec<Alternative>,
    }

    /// The end customer.
    pub struct Customer {
        /// The firm's name.
        pub name: Text,
        /// Street and number.
        #[cfg_attr(feature = "serde", serde(default))]
        pub street: Text,
        /// Postcode; picks the courier zone.
        #[cfg_attr(feature = "serde", serde(default))]
        pub postcode: Text,
        /// Town.
        #[cfg_attr(feature = "serde", serde(default))]
        pub city: Text,
        /// Where it is established.
        pub country: Country,
        /// VAT identifier.
        #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "Option::is_none"))]
        pub vat_id: Option<Text>,
        /// A business? Private individuals are not served.
        pub business: bool,
        /// The language of his documents; the workshop's choice where it is not said.
        #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "Option::is_none"))]
        pub language: Option<Language>,
    }

    /// One partner on the route.
    pub struct Stop {
        /// Which partner.
        pub partner: Code,
        /// What he takes over on this job; all that his agreement credits where it is not said.
        #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "Option::is_none"))]
        pub takes_over: Option<Vec<Work>>,
    }

    /// A controller that arrived.
    pub struct Unit {
        /// Its name in this job: `U1`.
        pub id: Code,
        /// Its family.
        pub family: Code,
        /// Serial number.
        pub serial: Text,
        /// When it was built, where that is known.
        #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "Option::is_none"))]
        pub built: Option<NaiveDate>,
        /// Duty cycles it has done, where that can be read.
        #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "Option::is_none"))]
        pub cycles: Option<u64>,
        /// Hours it has run, where it has a meter.
        #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "Option::is_none"))]
        pub hours: Option<u32>,
        /// For the courier's insurance, in the tariff's currency.
        pub declared_value: UnitPrice,
        /// What is to be done.
        #[cfg_attr(feature = "serde", serde(default))]
        pub task: Task,
        /// The class of work, in flat families; `standard` where it is not said.
        #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "Option::is_none"))]
        pub class: Option<Code>,
        /// What it travels in; a unit in another's parcel has none.
        #[cfg_attr(feature = "serde", serde(default))]
        pub parcels: Vec<Parcel>,
        /// What the bench found.
        #[cfg_attr(feature = "serde", serde(default))]
        pub findings: Vec<Finding>,
        /// The earlier job it comes back from.
        #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "Option::is_none"))]
        pub returned: Option<Returned>,
    }

    /// A parcel: centimetres to a tenth of a millimetre, kilograms to a gram.
    pub struct Parcel {
        /// Length.
        pub length_cm: Quantity,
        /// Width.
        pub width_cm: Quantity,
        /// Height.
        pub height_cm: Quantity,
        /// Weight.
        pub weight_kg: Quantity,
    }

    /// Something the bench found.
    pub struct Finding {
        /// From the catalogue.
        pub code: Code,
        /// Where on the board.
        #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "Option::is_none"))]
        pub position: Option<Code>,
        /// How many times; once where it is not said.
        #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "Option::is_none"))]
        pub quantity: Option<u32>,
    }

    /// The job a unit comes back from.
    pub struct Returned {
        /// Its quote.
        pub quote: Code,
        /// When it left the workshop.
        pub dispatched: NaiveDate,
        /// The months of warranty it left with.
        pub warranty_months: u32,
        /// The duty cycles the warranty was limited to, where it was.
        #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "Option::is_none"))]
        pub warranty_cycles: Option<u64>,
        /// The duty cycles it had done when it left.
        #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "Option::is_none"))]
        pub cycles_at_dispatch: Option<u64>,
    }

    /// Another way to do the job.
    pub struct Alternative {
        /// Its name in this job.
        pub id: Code,
        /// In words.
        #[cfg_attr(feature = "serde", serde(default))]
        pub text: Text,
        /// What differs, unit by unit.
        pub changes: Vec<Change>,
    }

    /// What an alternative changes for one unit.
    pub struct Change {
        /// Which unit.
        pub unit: Code,
        /// Another task.
        #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "Option::is_none"))]
        pub task: Option<Task>,
        /// Another class of work.
        #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "Option::is_none"))]
        pub class: Option<Code>,
        /// Further findings or options on top.
        #[cfg_attr(feature = "serde", serde(default))]
        pub findings: Vec<Finding>,
    }
}

impl Job {
    /// The same job by another route. On its own route the partners take over what the job says; on
    /// any other, what their agreements credit.
    #[must_use]
    pub fn by_route(&self, route: &[Code]) -> Job {
        let own = self.route.iter().map(|stop| &stop.partner).eq(route);
        let stop = |partner: &Code| Stop { partner: partner.clone(), takes_over: None };
        let stops = if own { self.route.clone() } else { route.iter().map(stop).collect() };
        Job { route: stops, ..self.clone() }
    }
}
