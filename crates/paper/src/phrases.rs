//! What stands on a document in the words of who reads it: lines, findings, steps and why they are there.

use evenfare_engine::category::Category;
use evenfare_engine::language::Language;
use evenfare_engine::quote::{OfferedFinding, PlanStep};
use evenfare_engine::text::{Code, Text};
use evenfare_engine::view::{OfferView, UnitView};
use evenfare_engine::why::{Because, When};
use evenfare_files::{Catalogue, Translations};

use crate::figures;
use crate::words::Words;

/// A quote's texts in one language: those of the catalogue by its translations, those of the engine by
/// [`Words`]. What is not translated stands in the workshop's own words.
#[derive(Clone, Copy)]
pub struct Phrases<'a> {
    /// The texts of documents.
    pub words: &'static Words,
    translations: &'a Translations,
}

impl<'a> Phrases<'a> {
    /// Of that language, by those translations.
    pub fn new(language: Language, translations: &'a Translations) -> Self {
        Self { words: Words::of(language), translations }
    }

    /// The language.
    pub fn language(&self) -> Language {
        self.words.language()
    }

    fn of_catalogue(&self, table: Catalogue, code: &str, text: &str) -> String {
        self.translations.text(self.language(), table, code).unwrap_or(text).to_owned()
    }

    /// The text of a line of the end price, or of a cost line, of that offer: by its name and what it is
    /// for.
    pub fn line(&self, offer: &OfferView, category: Category, id: &str, text: &str) -> String {
        // A unit's name has no slash.
        let of_unit = id.split_once('/').map_or(id, |(_, of_unit)| of_unit);
        let code = |kind| of_unit.strip_prefix(kind).unwrap_or_default();
        match category {
            Category::Part => self.of_catalogue(Catalogue::Parts, code("part/"), text),
            Category::Labour => self.of_catalogue(Catalogue::Grades, code("labour/"), text),
            Category::Test => self.of_catalogue(Catalogue::Tests, code("test/"), text),
            // A surcharge is for the whole job: what stands behind the slash is its code.
            Category::Surcharge => self.of_catalogue(Catalogue::Extras, of_unit, text),
            Category::Flat => {
                let family = offer.unit_of(id).map(|unit| unit.family.as_str()).unwrap_or_default();
                self.of_catalogue(Catalogue::FlatPrices, &[family, "/", code("flat/")].concat(), text)
            }
            Category::Courier => match of_unit {
                "courier/leg_in" => self.words.say("line-leg-in"),
                "courier/leg_out" => self.words.say("line-leg-out"),
                _ => self.words.say("line-packaging"),
            },
            Category::Exchange => self.words.say("line-exchange"),
            Category::Inspection => self.words.say("line-inspection"),
            Category::Minimum => self.words.say("line-minimum"),
            Category::Ending => self.words.say("line-ending"),
        }
    }

    /// Another way to do the job: as the catalogue calls it, else in the words of the job, else by its name there.
    pub fn alternative(&self, name: &str, text: &str) -> String {
        let text = if text.trim().is_empty() { name } else { text };
        self.of_catalogue(Catalogue::Alternatives, name, text)
    }

    /// What was found.
    pub fn finding(&self, finding: &OfferedFinding) -> String {
        self.of_catalogue(Catalogue::Findings, finding.code.as_str(), finding.text.as_str())
    }

    /// What is done.
    pub fn step(&self, step: &PlanStep) -> String {
        let table = match step.category {
            Category::Part => Catalogue::Parts,
            Category::Test => Catalogue::Tests,
            _ => Catalogue::Operations,
        };
        self.of_catalogue(table, step.code.as_str(), step.text.as_str())
    }

    /// What kind of controller a unit is.
    pub fn family(&self, unit: &UnitView) -> String {
        self.family_named(unit.family.as_str(), unit.family_text.as_str())
    }

    /// A kind of controller, by its code and the workshop's own words for it.
    pub fn family_named(&self, code: &str, text: &str) -> String {
        self.of_catalogue(Catalogue::Families, code, text)
    }

    /// What a warranty excludes, out of what was found in the units of its offer.
    pub fn excluded(&self, offer: &OfferView, text: &Text) -> String {
        let mut found = offer.units.iter().flat_map(|unit| &unit.findings);
        match found.find(|finding| finding.text == *text) {
            Some(finding) => self.finding(finding),
            None => text.as_str().to_owned(),
        }
    }

    /// Why a step is there: all who asked for it. What was found is said in the words of that unit's findings,
    /// with its place where that is not the step's own; by its code where it is none of them.
    pub fn why(&self, step: &PlanStep, findings: &[OfferedFinding]) -> String {
        let because = |because: &Because| match because {
            Because::Finding { code, position } => {
                let place = position.as_ref().filter(|at| step.position.as_deref() != Some(at.as_str()));
                self.because_found(code, place, findings)
            }
            Because::Refresh { when, is_known } => self.refresh(when, *is_known),
            Because::Family => self.words.say("why-family"),
        };
        self.words.joined(step.why.reasons().iter().map(because))
    }

    fn because_found(&self, code: &Code, place: Option<&Code>, findings: &[OfferedFinding]) -> String {
        let found = findings.iter().find(|finding| finding.code == *code);
        let found = found.map_or_else(
            || self.words.say_with("why-finding", &[("code", code.as_str().into())]),
            |finding| self.finding(finding),
        );
        place.map_or_else(|| found.clone(), |place| [&found, " (", place.as_str(), ")"].concat())
    }

    /// When a row of the refresh list is due, and whether the figure was known that it goes by.
    pub fn refresh(&self, when: &When, is_known: bool) -> String {
        match (self.when(when), is_known) {
            (when, true) => when,
            (when, false) => self.words.say_with("why-not-known", &[("why", (&when).into())]),
        }
    }

    fn when(&self, when: &When) -> String {
        match when {
            When::Always => self.words.say("why-always"),
            When::Cycles(from) => self.words.say_with("why-cycles", &[("cycles", (*from).into())]),
            When::Years(from) => self.words.say_with("why-years", &[("years", (*from).into())]),
            When::Wear { share, .. } => {
                let share = figures::percent(self.language(), &share.to_string());
                self.words.say_with("why-wear", &[("share", (&share).into())])
            }
        }
    }
}
