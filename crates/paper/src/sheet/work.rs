//! What was found in a unit, what is done and why.

use evenfare_engine::category::Category;
use evenfare_engine::job::Task;
use evenfare_engine::quote::{OfferedFinding, PlanStep};
use evenfare_engine::text::Code;
use evenfare_engine::view::{Alike, OfferView, UnitView, alike, counted, in_all};
use evenfare_engine::why::Because;

use super::pen::Pen;
use super::{Block, Row, Rows, Tone, Width};
use crate::figures::NO_BREAK;

/// Of the same code at several places, K2 before K10.
pub(super) fn as_counted<'a, T>(all: &mut [&'a T], at: impl Fn(&'a T) -> (&'a Code, Option<&'a str>)) {
    for alike in all.chunk_by_mut(|a, b| at(a).0 == at(b).0) {
        alike.sort_by_key(|one| at(one).1.map(counted));
    }
}

/// What was found in a unit, as its places are counted.
pub(super) fn findings(unit: &UnitView) -> Vec<&OfferedFinding> {
    let mut all: Vec<&OfferedFinding> = unit.findings.iter().collect();
    as_counted(&mut all, |one| (&one.code, one.position.as_ref().map(Code::as_str)));
    all
}

impl Pen<'_> {
    /// `U1 · Spiral mixer control · MS4-15-00902`
    pub(super) fn unit_name(&self, unit: &UnitView) -> String {
        let mut parts = vec![unit.id.to_string(), self.phrases.family(unit)];
        if !unit.serial.as_str().is_empty() {
            // It goes to the next line as a whole.
            let serial = [&self.say("serial"), " ", unit.serial.as_str()].concat();
            parts.push(serial.replace(' ', NO_BREAK));
        }
        parts.join(" · ")
    }

    /// The same, of what is supplied: of an exchange the unit that is sent, whose serial number nobody knows yet.
    pub(super) fn supplied_name(&self, unit: &UnitView) -> String {
        let family = self.phrases.family(unit);
        let supplied = match (unit.task, unit.serial.as_str()) {
            (Task::Refresh | Task::Decline, _) => return self.unit_name(unit),
            (Task::Exchange, "") => [&self.say("task-exchange"), " · ", &family].concat(),
            (Task::Exchange, serial) => {
                let told = [("family", (&family).into()), ("serial", serial.into())];
                self.say_with("exchange-for", &told)
            }
        };
        [unit.id.as_str(), " · ", &supplied].concat()
    }

    /// What was found, in plain words, with the place and how often.
    pub(super) fn found(&self, finding: &OfferedFinding) -> String {
        let mut text = self.phrases.finding(finding);
        if let Some(position) = &finding.position {
            text = [&text, " (", position.as_str(), ")"].concat();
        }
        if finding.times > 1 {
            text = [&finding.times.to_string(), " × ", &text].concat();
        }
        text
    }

    /// What is done with a unit that gets no work: sent back, or kept and another sent.
    pub(super) fn without_work(&self, unit: &UnitView) -> Option<Block> {
        let id = match unit.task {
            Task::Refresh => return None,
            Task::Exchange => "exchange-work",
            Task::Decline => "no-work",
        };
        Some(Block::Text { text: self.say(id), tone: Tone::Plain })
    }

    /// The plan of a unit: parts, work in the order of a bench's day as the tariff has it, tests.
    pub(super) fn planned<'u>(&self, unit: &'u UnitView) -> Vec<&'u PlanStep> {
        let operations = &self.stationery.operations;
        let mut steps: Vec<&PlanStep> = unit.plan.iter().collect();
        steps.sort_by_key(|step| match step.category {
            Category::Part => (0, None),
            Category::Test => (2, None),
            _ => (1, operations.iter().position(|code| *code == step.code)),
        });
        steps
    }

    /// What was found in a unit and what is done, as its owner is told.
    pub(super) fn unit_told(&self, unit: &UnitView, into: &mut Vec<Block>) {
        into.push(Block::Subheading { text: self.unit_name(unit) });
        if !unit.findings.is_empty() {
            into.push(Block::Text { text: self.say("found"), tone: Tone::Quiet });
            let items = findings(unit).into_iter().map(|finding| self.found(finding)).collect();
            into.push(Block::List { items, caution: false });
        }
        into.extend(self.without_work(unit));
        if !unit.plan.is_empty() {
            into.push(Block::Table {
                columns: vec![
                    self.column("done", Width::Wide),
                    self.column("position", Width::Short),
                    self.column("quantity", Width::Amount),
                    self.column("why", Width::Narrow),
                ],
                groups: vec![Rows {
                    head: None,
                    rows: alike(self.planned(unit)).iter().map(|told| self.steps(unit, told)).collect(),
                }],
                totals: Vec::new(),
            });
        }
    }

    /// The same step at all its places.
    fn steps(&self, unit: &UnitView, alike: &Alike<'_>) -> Row {
        let why = self.why(unit, alike.step);
        Row {
            note: self.in_all(unit, alike.step),
            ..Row::of([
                self.phrases.step(alike.step),
                alike.positions.join(", "),
                self.quantity_of(alike),
                why,
            ])
        }
    }

    /// How much of a part it is in all, where its rows do not add up to that.
    pub(super) fn in_all(&self, unit: &UnitView, step: &PlanStep) -> Option<String> {
        let quantity = in_all(&unit.plan, step)?;
        Some(self.say_with("in-all", &[("quantity", (&self.quantity(&quantity)).into())]))
    }

    /// How much of it at all its places: pieces add up; of anything else it is said how often.
    pub(super) fn quantity_of(&self, alike: &Alike<'_>) -> String {
        let each = &alike.step.quantity;
        match alike.count {
            1 => self.quantity(each),
            count if each == "1 pc" => self.quantity(&format!("{count} pc")),
            count => [&count.to_string(), NO_BREAK, "×", NO_BREAK, &self.quantity(each)].concat(),
        }
    }

    /// Why a step is done: what was found in the unit, in plain words.
    pub(super) fn why(&self, unit: &UnitView, step: &PlanStep) -> String {
        self.phrases.why(step, &unit.findings)
    }

    /// The warranty of each unit and what it leaves out; said once of units of which it is the same.
    pub(super) fn warranties(&self, offer: &OfferView) -> Vec<Block> {
        let mut told: Vec<(Vec<&str>, String)> = Vec::new();
        for unit in &offer.units {
            let text = self.warranty(offer, unit);
            match told.iter_mut().find(|(_, other)| *other == text) {
                Some((units, _)) => units.push(unit.id.as_str()),
                None => told.push((vec![unit.id.as_str()], text)),
            }
        }
        let several = offer.units.len() > 1;
        let named = |(units, text): (Vec<&str>, String)| {
            if several { self.words.labelled(&units.join(", "), &text) } else { text }
        };
        let texts: Vec<String> = told.into_iter().map(named).collect();
        match <[String; 1]>::try_from(texts) {
            Ok([text]) => vec![Block::Text { text, tone: Tone::Plain }],
            Err(items) => vec![Block::List { items, caution: false }],
        }
    }

    /// What holds of a unit. Where it is what the job itself holds of it, an alternative says so; what is not
    /// covered, it says all the same.
    fn warranty(&self, offer: &OfferView, unit: &UnitView) -> String {
        let main = &self.given.view.main;
        let told = main.units.iter().find(|told| told.id == unit.id && main.offer != offer.offer);
        let is_told = |told: &UnitView| told.warranty == unit.warranty && told.open_cover == unit.open_cover;
        let mut sentences =
            if told.is_some_and(is_told) { vec![self.say("warranty-as-quoted")] } else { self.covered(unit) };
        let excluded = unit.warranty.iter().flat_map(|warranty| &warranty.excludes);
        let excluded = self.words.joined(excluded.map(|text| self.phrases.excluded(offer, text)));
        if !excluded.is_empty() {
            sentences.push(self.say_with("warranty-excludes", &[("excluded", (&excluded).into())]));
        }
        sentences.join(" ")
    }

    /// Under which warranty a unit came back, and from when until when it has one now.
    fn covered(&self, unit: &UnitView) -> Vec<String> {
        let mut sentences = Vec::new();
        if let Some(open) = &unit.open_cover {
            let until = self.date(open.until);
            let told = [("quote", open.quote.as_str().into()), ("until", (&until).into())];
            sentences.push(self.say_with("warranty-open", &told));
            let left = open.cycles_left;
            sentences
                .extend(left.map(|left| self.say_with("warranty-cycles-left", &[("cycles", left.into())])));
        }
        let Some(warranty) = &unit.warranty else {
            sentences.push(self.say("warranty-none"));
            return sentences;
        };
        let (from, until) = (self.date(warranty.from), self.date(warranty.until));
        let told = [("from", (&from).into()), ("until", (&until).into())];
        sentences.push(self.say_with("warranty-months", &told));
        let limited = |cycles: u64| {
            self.say_with("warranty-cycles", &[("cycles", cycles.into()), ("from", (&from).into())])
        };
        sentences.extend(warranty.cycles.map(limited));
        sentences
    }
}

impl Pen<'_> {
    /// A table whose rows are ticked off.
    pub(super) fn to_tick(&self, groups: Vec<Rows>) -> Block {
        Block::Table {
            columns: vec![
                self.column("", Width::Tick),
                self.column("description", Width::Wide),
                self.column("code", Width::Short),
                self.column("position", Width::Short),
                self.column("quantity", Width::Amount),
            ],
            groups,
            totals: Vec::new(),
        }
    }

    /// A finding with its code and place, a cell each, for the bench.
    pub(super) fn finding_row(&self, finding: &OfferedFinding) -> Row {
        Row::of([
            String::new(),
            self.phrases.finding(finding),
            finding.code.to_string(),
            finding.position.as_ref().map(ToString::to_string).unwrap_or_default(),
            [&finding.times.to_string(), NO_BREAK, "×"].concat(),
        ])
    }

    /// Is a step asked for by the refresh list alone?
    pub(super) fn is_refresh(&self, step: &PlanStep) -> bool {
        step.why.reasons().iter().all(|because| matches!(because, Because::Refresh { .. }))
    }
}
