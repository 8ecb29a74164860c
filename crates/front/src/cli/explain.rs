//! `evenfare explain`: how a figure came about, down to what it was made from.

use std::collections::{HashMap, HashSet};

use evenfare_engine::nearest::or_nearest;
use evenfare_engine::trail::{From, Input, Rounding, Step};
use evenfare_engine::view::OfferView;

use super::args::ExplainArgs;
use super::outcome::{Answer, Failure};
use super::quote;
use super::text::money::shown;
use super::text::{Column, Page, Table, style};

/// The groups of figures in the order they are listed, by the first word of their names.
const GROUPS: &[(&str, &[&str])] = &[
    ("End price", &["end"]),
    ("Lines of the end price", &["net"]),
    ("Shares", &["share", "agreed", "discount", "credit"]),
    (
        "Workshop",
        &[
            "workshop",
            "cost",
            "cost.carried",
            "cost.charged",
            "contribution",
            "minimum_contribution",
            "available",
            "uneconomic",
        ],
    ),
    ("Sale", &["sale"]),
    ("Work plan", &["plan"]),
    ("Consignment", &["consignment"]),
    ("In the currency of the tariff", &["tariff"]),
    ("Terms", &["warranty", "valid_until"]),
];

/// Lists the figures, or explains one.
pub(super) fn run(args: &ExplainArgs) -> Result<Answer, Failure> {
    let seen = quote::seen(&args.of)?;
    let offer = quote::offer_of(&seen.view, args.of.offer.as_deref())?;
    let text = match &args.figure {
        None => listed(offer),
        Some(figure) => explained(offer, figure, args.depth.0)?,
    };
    Ok(Answer::new(text).with_note(seen.note))
}

/// All figures with what they came to, by group.
fn listed(offer: &OfferView) -> String {
    let mut groups: Vec<((usize, String), Table)> = Vec::new();
    for step in &offer.working {
        let key = group_of(&step.figure);
        let at = groups.iter().position(|(known, _)| *known == key);
        let row = [step.figure.as_str().into(), shown(&step.result).into()];
        match at.and_then(|at| groups.get_mut(at)) {
            Some((_, table)) => table.row(row),
            None => {
                let mut table = Table::new(2, [Column::TEXT, Column::RIGHT]);
                table.row(row);
                groups.push((key, table));
            }
        }
    }
    groups.sort_by(|(a, _), (b, _)| a.cmp(b));
    let mut page = Page::default();
    for ((_, heading), table) in &groups {
        page.heading(heading, "");
        page.table(table);
    }
    page.finish()
}

/// Where a figure is listed: the number of its group and the heading.
fn group_of(figure: &str) -> (usize, String) {
    let mut words = figure.split('.');
    let first = words.next().unwrap_or_default();
    // What the workshop spends in all stands with its other sums; what each line costs does not.
    let name = if first == "cost" { figure } else { first };
    let known = GROUPS.iter().position(|(_, names)| names.contains(&name));
    match (known.and_then(|at| Some((at, GROUPS.get(at)?))), first) {
        (Some((at, (heading, _))), "sale") => (at, format!("{heading} {}", words.next().unwrap_or_default())),
        (Some((at, (heading, _))), _) => (at, (*heading).to_owned()),
        (None, "cost") => (GROUPS.len(), String::from("Cost lines")),
        (None, _) => (GROUPS.len().saturating_add(1), String::from("Others")),
    }
}

fn explained(offer: &OfferView, figure: &str, depth: usize) -> Result<String, Failure> {
    let mut tree = Tree { page: Page::default(), steps: HashMap::new(), told: HashSet::new(), is_cut: false };
    for step in &offer.working {
        tree.steps.entry(step.figure.as_str()).or_insert(step);
    }
    let step = tree.steps.get(figure).copied().ok_or_else(|| unknown(offer, figure))?;
    let line = format!("{} = {}", step.figure, shown(&step.result));
    tree.page.beside("", "", style::STRONG, &line);
    tree.told.insert(&step.figure);
    tree.working(step, "", depth);
    if tree.is_cut {
        let deeper = depth.saturating_add(1);
        let more = format!(
            "there is more below: `--depth {deeper}` goes one figure deeper, `--depth all` all the way"
        );
        tree.page.blank();
        tree.page.paragraph(0, style::FAINT, &more);
    }
    Ok(tree.page.finish())
}

fn unknown(offer: &OfferView, figure: &str) -> Failure {
    let asked: String = figure.chars().take(60).collect();
    let missing = format!("there is no figure `{asked}` to be seen in this quote");
    let missing = or_nearest(&missing, figure, offer.working.iter().map(|step| step.figure.as_str()));
    Failure::Usage(format!("{missing}. Without a figure, `evenfare explain` lists all of them"))
}

/// A figure above what it was made from.
struct Tree<'v> {
    page: Page,
    steps: HashMap<&'v str, &'v Step>,
    /// Each figure is worked out once.
    told: HashSet<&'v str>,
    /// The depth asked for leaves a working out.
    is_cut: bool,
}

impl<'v> Tree<'v> {
    /// Rule, exact value and rounding, and the inputs, each with its own working.
    fn working(&mut self, step: &'v Step, before: &str, depth: usize) {
        let Some(deeper) = depth.checked_sub(1) else {
            self.is_cut = true;
            return;
        };
        let stem = if step.inputs.is_empty() { format!("{before}  ") } else { format!("{before}│ ") };
        self.page.beside(&stem, &stem, style::FAINT, step.rule.text());
        if let Some(rounding) = rounded(step) {
            self.page.beside(&stem, &stem, style::FAINT, &rounding);
        }
        let last = step.inputs.len().saturating_sub(1);
        for (number, input) in step.inputs.iter().enumerate() {
            let (branch, below) = if number == last { ("└ ", "  ") } else { ("├ ", "│ ") };
            self.input(input, &format!("{before}{branch}"), &format!("{before}{below}"), deeper);
        }
    }

    fn input(&mut self, input: &'v Input, before: &str, below: &str, deeper: usize) {
        let value = shown(&input.shown);
        match &input.from {
            From::Tariff(place) => {
                self.leaf(before, below, &format!("{} {value}", input.name), &format!("tariff: {place}"))
            }
            From::Job(place) => {
                self.leaf(before, below, &format!("{} {value}", input.name), &format!("job: {place}"))
            }
            From::Figure(figure) => {
                let step = self.steps.get(figure.as_str()).copied();
                let result = step.map_or_else(|| value.clone(), |step| shown(&step.result));
                // An input may be a part of a figure; where it says nothing it is all of it.
                let mut line = match value.as_str() {
                    "" => format!("{} {result} = {figure}", input.name),
                    value if value == result => format!("{} {value} = {figure}", input.name),
                    value => format!("{} {value}, from {figure} = {result}", input.name),
                };
                // What the depth leaves out here may be told where it stands less deep.
                let again =
                    if deeper > 0 { !self.told.insert(figure) } else { self.told.contains(&**figure) };
                if again && step.is_some_and(|step| !step.inputs.is_empty()) {
                    line.push_str(" (see above)");
                }
                self.page.beside(before, below, style::PLAIN, &line);
                if let Some(step) = step.filter(|_| !again) {
                    self.working(step, below, deeper);
                }
            }
        }
    }

    fn leaf(&mut self, before: &str, below: &str, what: &str, place: &str) {
        self.page.beside(before, below, style::PLAIN, &format!("{what} [{place}]"));
    }
}

/// The exact value and how it was rounded, where it was.
fn rounded(step: &Step) -> Option<String> {
    match (&step.exact, step.rounding) {
        (Some(exact), rounding) => Some(format!("exactly {exact}, {}", rounding.text())),
        (None, Rounding::None) => None,
        (None, rounding) => Some(rounding.text().to_owned()),
    }
}
