//! A month end on its way out.

use evenfare_engine::money::{Currency, Net, Overflow};
use evenfare_engine::problem::{Place, Problem, Severity};
use evenfare_files::answers;
use evenfare_reconcile::account::AccountMonth;
use evenfare_reconcile::difference::Document;
use evenfare_reconcile::earned::Earned;
use evenfare_reconcile::error::{How, Stated, Untied};
use evenfare_reconcile::input::{Balance, Slip};
use evenfare_reconcile::left_open::OpenItem;
use evenfare_reconcile::matching::Undecided;
use evenfare_reconcile::overview::{Margin, Overview};
use evenfare_reconcile::period::{Found, Settled};
use evenfare_reconcile::transit::InTransit;

use super::pb;

impl From<&Document> for pb::MonthEndPaper {
    fn from(document: &Document) -> Self {
        let place = document.place.as_ref();
        Self {
            paper: document.paper.word().to_owned(),
            number: document.number.to_string(),
            file: place.map(|place| place.file.to_string()).unwrap_or_default(),
            line: place.map_or(0, |place| place.line),
        }
    }
}

/// What is amiss in a file that was read.
pub(crate) fn slip(slip: &Slip, severity: Severity) -> Problem {
    let Slip { place, code, found, expected } = slip;
    let place = format!("{}:{}", place.file, place.line);
    Problem { severity, ..Problem::error(Place::field(&place), code, found, expected) }
}

/// Two statements of an account that do not follow one another, at the place of the later.
pub(crate) fn untied(one: &Untied) -> Problem {
    let Untied { account, currency, how, earlier, later } = one;
    let place = |stated: &Stated| format!("{}:{}", stated.place.file, stated.place.line);
    let balance = |Balance { day, minor }: Balance| {
        let amount = Net::from_minor(minor).map(|amount| amount.in_major_units(*currency));
        format!("{} {currency} on {day}", amount.unwrap_or_else(|_| format!("{minor} minor units of")))
    };
    let before = format!("statement `{}` of account {account} at {}", earlier.id, place(earlier));
    let (code, found, expected) = match how {
        How::Apart => {
            let held = balance(earlier.closing);
            let expected = format!(
                "{held}, which {before} closes with: one between them is missing, or one was changed"
            );
            ("balances_apart", balance(later.opening), expected)
        }
        How::Overlap => {
            let found = format!("{} to {}", later.opening.day, later.closing.day);
            let (first, last) = (earlier.opening.day, earlier.closing.day);
            let expected =
                format!("none of the days from {first} to {last}, which {before} tells of: they count twice");
            ("days_overlap", found, expected)
        }
    };
    Problem::error(Place::field(&place(later)), code, found, expected)
}

/// A difference that stands in what is shown; it may have been settled later.
pub(crate) fn difference(found: &Found, later: Option<&Settled>) -> pb::MonthEndDifference {
    let one = &found.difference;
    let figures = one.figures();
    pb::MonthEndDifference {
        posted: Some(found.posted.into()),
        day: Some(one.day.into()),
        reason: one.reason.code().to_owned(),
        party: one.party.to_string(),
        quote: one.quote.as_deref().unwrap_or_default().to_owned(),
        amount: Some(pb::Money::of(one.amount_minor, one.currency)),
        agreed: figures.map(|[agreed, _]| pb::Money::of(agreed, one.currency)),
        found: figures.map(|[_, found]| pb::Money::of(found, one.currency)),
        settled: false,
        papers: one.documents.iter().map(Into::into).collect(),
        settled_on: later.map(|settled| settled.posted.into()),
        settled_by: later.iter().flat_map(|settled| &settled.by).map(Into::into).collect(),
        now: later.and_then(|settled| Some(pb::Money::of(settled.now_minor?, one.currency))),
    }
}

/// One that is none any more in what is shown.
pub(crate) fn settled(settled: &Settled) -> pb::MonthEndDifference {
    pb::MonthEndDifference { settled: true, ..difference(&settled.found, Some(settled)) }
}

impl From<&Undecided> for pb::MonthEndQuestion {
    fn from(question: &Undecided) -> Self {
        Self {
            about: Some((&question.subject).into()),
            why: question.why.code().to_owned(),
            amount: Some(pb::Money::of(question.amount_minor, question.currency)),
            answers: answers(question),
        }
    }
}

impl From<&AccountMonth> for pb::MonthEndBalance {
    fn from(one: &AccountMonth) -> Self {
        let of = |minor| Some(pb::Money::of(minor, one.currency));
        Self {
            party: one.party.to_string(),
            opening: of(one.opening_minor),
            invoiced: of(one.invoiced_minor),
            paid: of(one.paid_minor),
            other: of(one.other_minor),
            closing: of(one.closing_minor),
        }
    }
}

impl From<&OpenItem> for pb::MonthEndOpenItem {
    fn from(one: &OpenItem) -> Self {
        Self {
            party: one.party.to_string(),
            what: one.what.word().to_owned(),
            document: one.document.to_string(),
            quote: one.quote.as_deref().unwrap_or_default().to_owned(),
            day: Some(one.day.into()),
            due: one.due.map(Into::into),
            open: Some(pb::Money::of(one.minor, one.currency)),
            later: one.is_later,
        }
    }
}

/// A transfer under way, by the books' currency.
pub(crate) fn transfer(one: &InTransit, currency: Currency) -> pb::MonthEndTransfer {
    pb::MonthEndTransfer {
        day: Some(one.day.into()),
        account: one.account.to_string(),
        other: one.other.to_string(),
        amount: Some(pb::Money::of(one.minor, one.currency)),
        base: Some(pb::Money::of(one.base_minor, currency)),
        payment: Some((&one.document).into()),
    }
}

/// A volume bonus, in the books' currency.
pub(crate) fn bonus(one: &Earned, currency: Currency) -> pb::MonthEndBonus {
    let money = |minor| Some(pb::Money::of(minor, currency));
    pb::MonthEndBonus {
        partner: one.partner.to_string(),
        year: one.year,
        month: one.month.to_string(),
        turnover: money(one.turnover_minor),
        percent: one.percent.to_string(),
        due: money(one.due_minor),
        movement: money(one.movement_minor),
        trued_up: money(one.true_up_minor),
        next_from: one.next.and_then(|next| money(next.from_minor)),
        next_percent: one.next.map(|next| next.percent.to_string()).unwrap_or_default(),
        missing: one.next.and_then(|next| money(next.missing_minor)),
    }
}

/// All margins, in the books' currency.
pub(crate) fn margins(overview: &Overview, currency: Currency) -> Result<Vec<pb::MonthEndMargin>, Overflow> {
    let margin = |by: pb::MarginBy, names: Vec<String>, margin: &Margin| pb::MonthEndMargin {
        by: by.into(),
        names,
        quotes: margin.quotes,
        end_net: Some(pb::Money::of(margin.end_net_minor, currency)),
        shares: Some(pb::Money::of(margin.shares_minor, currency)),
        workshop_net: Some(pb::Money::of(margin.workshop_net_minor, currency)),
        cost: Some(pb::Money::of(margin.cost_minor, currency)),
        invoiced: None,
    };
    let invoiced =
        |minor, margin| pb::MonthEndMargin { invoiced: Some(pb::Money::of(minor, currency)), ..margin };
    let whole = margin(pb::MarginBy::All, Vec::new(), &overview.all);
    let mut all = vec![invoiced(overview.invoiced_minor()?, whole)];
    let one = |name: &dyn ToString| vec![name.to_string()];
    all.extend(overview.by_partner.iter().map(|(name, of)| margin(pb::MarginBy::Partner, one(name), of)));
    all.extend(overview.by_family.iter().map(|(name, of)| margin(pb::MarginBy::Family, one(name), of)));
    all.extend(
        overview.by_route.iter().map(|(route, of)| {
            margin(pb::MarginBy::Route, route.iter().map(ToString::to_string).collect(), of)
        }),
    );
    all.extend(
        overview
            .months()
            .map(|(month, agreed, minor)| invoiced(minor, margin(pb::MarginBy::Month, one(&month), &agreed))),
    );
    Ok(all)
}
