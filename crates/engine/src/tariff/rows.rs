//! A tariff edition as it is written: rules and tables, in the order of their files.
//!
//! Every struct here is one section of `edition.toml` or one row of the table named beside it;
//! every field is one key or one column. Amounts are in the tariff's currency and in major units.

use chrono::NaiveDate;

use crate::category::{Category, PartUnit, Work, words};
use crate::country::Country;
use crate::language::Language;
use crate::money::{Currency, Percent, Quantity, ReferenceRate, UnitPrice};
use crate::period::Span;
use crate::text::{Code, Text};

macro_rules! rows {
    ($($(#[$doc:meta])* pub struct $name:ident { $($(#[$field_doc:meta])* pub $field:ident: $type:ty,)* })*) => { $(
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq)]
        #[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(deny_unknown_fields))]
        pub struct $name { $($(#[$field_doc])* pub $field: $type,)* }
    )* };
}

words! {
    /// What takes a price ending to a whole multiple.
    EndingDirection {
        /// To the next multiple above.
        Up = "up",
        /// To the nearest multiple, a half going up.
        Nearest = "nearest",
        /// To the next multiple below.
        Down = "down",
    }

    /// How a family's end price comes about.
    Method {
        /// Every cost line with the markup of its category.
        BuiltUp = "built_up",
        /// One fixed price for a class of work.
        Flat = "flat",
    }

    /// What a row of a finding or a refresh list adds to the work plan.
    Adds {
        /// A part to be replaced.
        Part = "part",
        /// An operation at the bench.
        Operation = "operation",
        /// A test programme; the quantity is its bench hours.
        Test = "test",
    }

    /// When a row of a refresh list applies.
    Trigger {
        /// In any case.
        Always = "always",
        /// From that many duty cycles.
        Cycles = "cycles",
        /// From that many full years since it was built.
        Years = "years",
        /// From that used share of its life, in percent, by the wear model named.
        Wear = "wear",
    }

    /// What happens when the shares of a route would push the workshop under its floor.
    UnderFloor {
        /// The quote is refused by that route.
        Refuse = "refuse",
        /// All shares on the route are scaled down in proportion.
        Scale = "scale",
    }

    /// Does the workshop's warranty cover what the finding describes?
    Cover {
        /// It does.
        Covered = "covered",
        /// It does not: mechanical damage, say.
        Excluded = "excluded",
    }

    /// How something ages.
    WearModel {
        /// An electrolytic capacitor: its life doubles for every ten kelvin below its rating.
        Capacitor = "capacitor",
        /// Switching contacts, by the operations until a tenth of them has failed dangerously.
        Contacts = "contacts",
    }
}

rows! {
    /// `[workshop]`: who sells first.
    pub struct WorkshopRow {
        /// The firm's name.
        pub name: Text,
        /// Street and number.
        pub street: Text,
        /// Postcode.
        pub postcode: Text,
        /// Town.
        pub city: Text,
        /// Where it is established.
        pub country: Country,
        /// VAT identifier; needed in the European Union.
        pub vat_id: Option<Text>,
    }

    /// `[price]`: minimum charge, price ending, floor.
    pub struct PriceRow {
        /// Least net end price of a job that is charged for at all.
        pub minimum_charge: UnitPrice,
        /// The end price is taken to a whole multiple of this; zero leaves it alone.
        pub ending_to: UnitPrice,
        /// Which multiple.
        pub ending_direction: EndingDirection,
        /// The contribution that has to be left at least.
        pub minimum_contribution: UnitPrice,
        /// The same as a percentage of the net end price; the larger of the two counts.
        pub minimum_contribution_percent: Percent,
        /// Above this percentage of the replacement value a repair is uneconomic.
        pub uneconomic_percent: Percent,
        /// The categories that a flat price takes in.
        pub flat_covers: Vec<Category>,
        /// What a kilowatt-hour costs.
        pub energy_per_kwh: UnitPrice,
    }

    /// `[courier]`: what a leg costs besides its rate.
    pub struct CourierRow {
        /// Cubic centimetres that count as one kilogram.
        pub volumetric_divisor: u32,
        /// Chargeable weight is raised to a multiple of this, in kilograms.
        pub weight_step_kg: Quantity,
        /// Added to the rate of a leg.
        pub fuel_percent: Percent,
        /// Of the declared value, on each leg.
        pub insurance_percent: Percent,
        /// Insurance on one leg costs this at least.
        pub insurance_minimum: UnitPrice,
        /// Packaging for the way back, for each parcel.
        pub packaging_per_parcel: UnitPrice,
    }

    /// `[inspection]`: a unit declined after diagnosis.
    pub struct InspectionRow {
        /// What is charged for the diagnosis, net.
        pub fee: UnitPrice,
        /// How many minutes it takes the workshop.
        pub minutes: u32,
        /// The grade of whoever does it.
        pub grade: Code,
    }

    /// `[terms]`: validity and warranty.
    pub struct TermsRow {
        /// A quote stands for this many days.
        pub validity_days: u32,
        /// From the later of receipt and quote to dispatch, where the job does not say.
        pub turnaround_days: u32,
        /// Warranty from dispatch, where the family does not say.
        pub warranty_months: u32,
        /// Warranty ends earlier after this many duty cycles; no limit where there is none.
        pub warranty_cycles: Option<u64>,
    }

    /// `[markup]`: one for each category of cost.
    pub struct MarkupRow {
        /// Part, labour, test or courier.
        pub category: Category,
        /// Added to the cost.
        pub percent: Percent,
    }

    /// `grades.csv`: labour grades.
    pub struct GradeRow {
        /// Its code.
        pub code: Code,
        /// In words.
        pub text: Text,
        /// Cost of an hour.
        pub rate_per_hour: UnitPrice,
    }

    /// `parts.csv`.
    pub struct PartRow {
        /// Its code.
        pub code: Code,
        /// In words.
        pub text: Text,
        /// What it is counted in.
        pub unit: PartUnit,
        /// Cost of one.
        pub unit_cost: UnitPrice,
        /// Minutes to replace one; with a grade.
        pub fit_minutes: u32,
        /// The grade of whoever replaces it; none where the minutes are none.
        pub fit_grade: Option<Code>,
    }

    /// `price_breaks.csv`: cheaper from a quantity.
    pub struct PriceBreakRow {
        /// The part.
        pub part: Code,
        /// From this quantity on one line.
        pub from_quantity: Quantity,
        /// Cost of one.
        pub unit_cost: UnitPrice,
    }

    /// `operations.csv`: work at the bench that is not the fitting of a part.
    pub struct OperationRow {
        /// Its code.
        pub code: Code,
        /// In words.
        pub text: Text,
        /// The grade of whoever does it.
        pub grade: Code,
        /// How many minutes, each time.
        pub minutes: u32,
        /// Counts once for a unit, however often it is asked for.
        pub once: bool,
    }

    /// `tests.csv`: test programmes.
    pub struct TestRow {
        /// Its code.
        pub code: Code,
        /// In words.
        pub text: Text,
        /// How many hours at the bench, where a finding does not say.
        pub bench_hours: Quantity,
        /// Cost of the bench for an hour.
        pub bench_rate: UnitPrice,
        /// Minutes somebody stands by, in all.
        pub attended_minutes: u32,
        /// The grade of whoever stands by.
        pub grade: Code,
        /// What the bench draws, in kilowatts.
        pub power_kw: Quantity,
    }

    /// `findings.csv`: what the bench may find.
    pub struct FindingRow {
        /// Its code.
        pub code: Code,
        /// In plain words, for the customer.
        pub text: Text,
        /// Does the warranty cover it?
        pub warranty: Cover,
    }

    /// `finding_steps.csv`: what a finding adds to the plan.
    pub struct FindingStepRow {
        /// The finding.
        pub finding: Code,
        /// What kind of step.
        pub adds: Adds,
        /// Which part, operation or test.
        pub code: Code,
        /// Pieces, times, or bench hours (empty: as the programme says; one piece; once).
        pub quantity: Option<Quantity>,
        /// Where on the board; the finding's own position where empty.
        pub position: Option<Code>,
    }

    /// `families.csv`: the kinds of controller the workshop takes.
    pub struct FamilyRow {
        /// Its code.
        pub code: Code,
        /// In words.
        pub text: Text,
        /// Built up or flat.
        pub method: Method,
        /// Its test programme.
        pub test: Code,
        /// Its refresh list.
        pub refresh: Option<Code>,
        /// What a new one costs.
        pub replacement_value: UnitPrice,
        /// What an exchange unit costs the workshop; none where none is kept.
        pub exchange_cost: Option<UnitPrice>,
        /// What an exchange unit is sold at, net.
        pub exchange_net: Option<UnitPrice>,
        /// Warranty, where it differs from the terms.
        pub warranty_months: Option<u32>,
        /// Hours it runs on a day, where the unit has no hour meter.
        pub duty_hours_per_day: u32,
    }

    /// `flat_prices.csv`.
    pub struct FlatPriceRow {
        /// The family.
        pub family: Code,
        /// The class of work.
        pub class: Code,
        /// In words.
        pub text: Text,
        /// The fixed price, net.
        pub net: UnitPrice,
    }

    /// `refresh.csv`: what is replaced in any case, or when it has aged.
    pub struct RefreshRow {
        /// The list.
        pub list: Code,
        /// Part or operation.
        pub adds: Adds,
        /// Which one.
        pub code: Code,
        /// Pieces or times; one where empty.
        pub quantity: Option<Quantity>,
        /// Where on the board.
        pub position: Option<Code>,
        /// When.
        pub trigger: Trigger,
        /// From how many cycles, years, or percent of life used.
        pub threshold: Option<Quantity>,
        /// The wear model, where the trigger is wear.
        pub wear: Option<Code>,
    }

    /// `wear.csv`: how parts age.
    pub struct WearRow {
        /// Its code.
        pub code: Code,
        /// Capacitor or contacts.
        pub model: WearModel,
        /// Capacitor: rated life in hours.
        pub rated_hours: Option<u32>,
        /// Capacitor: at this temperature, in degrees Celsius.
        pub rated_celsius: Option<i32>,
        /// Capacitor: in service it is this hot.
        pub service_celsius: Option<i32>,
        /// Contacts: operations until a tenth has failed (B10d of ISO 13849-1).
        pub b10d: Option<u64>,
        /// Contacts: operations in one duty cycle.
        pub operations_per_cycle: Option<Quantity>,
    }

    /// `zones.csv`: which courier zone an address is in.
    pub struct ZoneRow {
        /// The zone.
        pub zone: Code,
        /// The country.
        pub country: Country,
        /// Postcodes that begin with this; all where empty. The longest that fits counts.
        pub postcode_prefix: Text,
    }

    /// `courier_rates.csv`: what a leg costs.
    pub struct CourierRateRow {
        /// The zone.
        pub zone: Code,
        /// Up to this chargeable weight, in kilograms.
        pub up_to_kg: Quantity,
        /// One leg.
        pub leg_cost: UnitPrice,
    }

    /// `extras.csv`: what a customer may ask for on top.
    pub struct ExtraRow {
        /// Its code.
        pub code: Code,
        /// In words.
        pub text: Text,
        /// Of the lines it applies to.
        pub percent: Percent,
        /// The categories of those lines.
        pub categories: Vec<Category>,
    }

    /// `partners.csv`: service partners.
    pub struct PartnerRow {
        /// Its code.
        pub code: Code,
        /// The firm's name.
        pub name: Text,
        /// Street and number.
        pub street: Text,
        /// Postcode.
        pub postcode: Text,
        /// Town.
        pub city: Text,
        /// Where it is established.
        pub country: Country,
        /// VAT identifier; needed in the European Union.
        pub vat_id: Option<Text>,
        /// The partner he buys through; from the workshop where empty.
        pub buys_from: Option<Code>,
        /// The language of his documents; the workshop's choice where empty.
        pub language: Option<Language>,
    }

    /// `agreements.csv`: dated agreements with partners.
    pub struct AgreementRow {
        /// Its code.
        pub code: Code,
        /// With whom.
        pub partner: Code,
        /// When it holds.
        pub span: Span,
        /// What happens under the floor.
        pub under_floor: UnderFloor,
    }

    /// `discounts.csv`: percent of the end price by category.
    pub struct DiscountRow {
        /// The agreement.
        pub agreement: Code,
        /// The category of lines.
        pub category: Category,
        /// What he keeps of their net.
        pub percent: Percent,
    }

    /// `credits.csv`: fixed credits for work a partner takes over.
    pub struct CreditRow {
        /// The agreement.
        pub agreement: Code,
        /// Which work.
        pub work: Work,
        /// What it is worth, net.
        pub amount: UnitPrice,
    }

    /// `vat_rates.csv`: standard rates by country and date.
    pub struct VatRateRow {
        /// The country.
        pub country: Country,
        /// When it holds.
        pub span: Span,
        /// The rate; zero where the country has no VAT.
        pub percent: Percent,
    }

    /// `currency_rates.csv`: reference rates against the euro.
    pub struct CurrencyRateRow {
        /// The day of the rate.
        pub date: NaiveDate,
        /// The currency.
        pub currency: Currency,
        /// Units for one euro.
        pub units_per_eur: ReferenceRate,
    }

    /// One edition of a workshop's tariff, whole.
    pub struct Tariff {
        /// Its name: `2026-07`.
        pub edition: Code,
        /// The days of receipt it prices.
        pub span: Span,
        /// Of all amounts in it.
        pub currency: Currency,
        /// `[workshop]`
        pub workshop: WorkshopRow,
        /// `[price]`
        pub price: PriceRow,
        /// `[courier]`
        pub courier: CourierRow,
        /// `[inspection]`
        pub inspection: InspectionRow,
        /// `[terms]`
        pub terms: TermsRow,
        /// `[markup]`
        pub markups: Vec<MarkupRow>,
        /// `grades.csv`
        pub grades: Vec<GradeRow>,
        /// `parts.csv`
        pub parts: Vec<PartRow>,
        /// `price_breaks.csv`
        #[cfg_attr(feature = "serde", serde(default))]
        pub price_breaks: Vec<PriceBreakRow>,
        /// `operations.csv`
        pub operations: Vec<OperationRow>,
        /// `tests.csv`
        pub tests: Vec<TestRow>,
        /// `findings.csv`
        pub findings: Vec<FindingRow>,
        /// `finding_steps.csv`
        pub finding_steps: Vec<FindingStepRow>,
        /// `families.csv`
        pub families: Vec<FamilyRow>,
        /// `flat_prices.csv`
        #[cfg_attr(feature = "serde", serde(default))]
        pub flat_prices: Vec<FlatPriceRow>,
        /// `refresh.csv`
        #[cfg_attr(feature = "serde", serde(default))]
        pub refresh: Vec<RefreshRow>,
        /// `wear.csv`
        #[cfg_attr(feature = "serde", serde(default))]
        pub wear: Vec<WearRow>,
        /// `zones.csv`
        pub zones: Vec<ZoneRow>,
        /// `courier_rates.csv`
        pub courier_rates: Vec<CourierRateRow>,
        /// `extras.csv`
        #[cfg_attr(feature = "serde", serde(default))]
        pub extras: Vec<ExtraRow>,
        /// `partners.csv`
        #[cfg_attr(feature = "serde", serde(default))]
        pub partners: Vec<PartnerRow>,
        /// `agreements.csv`
        #[cfg_attr(feature = "serde", serde(default))]
        pub agreements: Vec<AgreementRow>,
        /// `discounts.csv`
        #[cfg_attr(feature = "serde", serde(default))]
        pub discounts: Vec<DiscountRow>,
        /// `credits.csv`
        #[cfg_attr(feature = "serde", serde(default))]
        pub credits: Vec<CreditRow>,
        /// `vat_rates.csv`
        pub vat_rates: Vec<VatRateRow>,
        /// `currency_rates.csv`
        #[cfg_attr(feature = "serde", serde(default))]
        pub currency_rates: Vec<CurrencyRateRow>,
    }
}
