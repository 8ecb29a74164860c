//! From the files named to a priced quote, with what is wrong told at its place.

use std::path::Path;

use evenfare_engine::job::{Job, Stop};
use evenfare_engine::money::Currency;
use evenfare_engine::problem::{Place, Problem};
use evenfare_engine::quote::Quote;
use evenfare_engine::tariff::Edition;
use evenfare_engine::view::{Reader, View, view};
use evenfare_engine::{Refused, UnderTheFloor};
use evenfare_files::{JobSource, Report, Tariffs, read_job, read_tariff};

use super::args::{Route, Sight};
use super::outcome::Failure;
use super::text::money::with_currency;
use super::text::words::{count, span};
use super::text::{Page, style};

/// A job and the tariff it is priced by, as read.
pub(super) struct Input {
    pub(super) job: Job,
    source: JobSource,
    tariffs: Tariffs,
}

/// Reads both; mistakes of both are told together.
pub(super) fn read(job: &Path, tariff: &Path) -> Result<Input, Failure> {
    match (read_job(job), read_tariff(tariff)) {
        (Ok((job, source)), Ok(tariffs)) => Ok(Input { job, source, tariffs }),
        (job, tariffs) => {
            let reports = [job.err(), tariffs.err()];
            Err(Failure::Mistakes(reports.into_iter().flatten().flatten().collect::<Report>()))
        }
    }
}

impl Input {
    /// The edition that prices what was received on the job's day.
    pub(super) fn edition(&self) -> Result<&Edition, Failure> {
        let received = self.job.received;
        self.tariffs.on(received).ok_or_else(|| {
            let spans: Vec<String> = self
                .tariffs
                .editions()
                .iter()
                .map(|edition| format!("{} ({})", edition.code(), span(edition.span())))
                .collect();
            let expected = format!("a day that an edition of the tariff prices: {}", spans.join(", "));
            let problem = Problem::error(Place::field("received"), "no_edition", received, expected);
            Failure::Mistakes(self.source.locate([problem]))
        })
    }

    /// The currency of the quote.
    pub(super) fn currency(&self, edition: &Edition) -> Currency {
        self.job.currency.unwrap_or(edition.currency())
    }

    /// That the tariff has warnings, where it has.
    pub(super) fn note(&self, tariff: &Path) -> String {
        let warnings = self.tariffs.warnings().len();
        let mut page = Page::default();
        if warnings > 0 {
            let seen = format!(
                "the tariff has {}; `evenfare tariff check {}` shows them",
                count(warnings, "warning"),
                tariff.display()
            );
            page.labelled(style::CARE, "warning", &seen);
        }
        page.finish()
    }

    /// What one reader sees of the quote by the route asked for.
    pub(super) fn sight(&self, sight: &Sight) -> Result<View, Failure> {
        let edition = self.edition()?;
        let job = match &sight.route {
            Some(route) => by_route(&self.job, route),
            None => self.job.clone(),
        };
        if let Reader::Partner(own) = &sight.reader
            && !job.route.iter().any(|stop| stop.partner == *own)
        {
            return Err(not_his(&sight.reader));
        }
        let quote = self.priced(&job, edition, sight)?;
        view(&quote, &sight.reader).ok_or_else(|| not_his(&sight.reader))
    }

    fn priced(&self, job: &Job, edition: &Edition, sight: &Sight) -> Result<Quote, Failure> {
        evenfare_engine::quote(job, edition).map_err(|refused| match refused {
            Refused::Job(problems) if sight.route.is_some() => self.with_route(problems),
            Refused::UnderTheFloor(_) if !sight.reader.sees_all() => Failure::Refused(String::from(
                "an agreement on this route refuses the quote; ask the workshop",
            )),
            refused => self.failure(refused, self.currency(edition)),
        })
    }

    /// Why a job has no quote, at the place in its file where there is one.
    pub(super) fn failure(&self, refused: Refused, currency: Currency) -> Failure {
        match refused {
            Refused::Job(problems) => Failure::Mistakes(self.source.locate(problems)),
            Refused::UnderTheFloor(floor) => Failure::Refused(under_the_floor(&floor, currency)),
            Refused::TooLarge | Refused::OutOfCalendar => Failure::BadInput(refused.to_string()),
            Refused::Unsealed(reason) => {
                Failure::Internal(format!("the quote could not be sealed: {reason}"))
            }
        }
    }

    /// Problems of a route from the command line have no place in the file.
    fn with_route(&self, problems: Vec<Problem>) -> Failure {
        let (route, others): (Vec<_>, Vec<_>) =
            problems.into_iter().partition(|problem| problem.place.as_str().starts_with("route"));
        if route.is_empty() {
            return Failure::Mistakes(self.source.locate(others));
        }
        let told: Vec<String> = route.iter().map(told).collect();
        Failure::Usage(format!("--route: {}", told.join("; ")))
    }
}

/// A problem without its place.
pub(super) fn told(problem: &Problem) -> String {
    let found = if problem.found.is_empty() { "nothing" } else { &problem.found };
    format!("found `{found}`, expected {}", problem.expected)
}

/// The same job by another route.
pub(super) fn by_route(job: &Job, route: &Route) -> Job {
    let stops = route.0.iter().map(|partner| Stop { partner: partner.clone(), takes_over: None });
    Job { route: stops.collect(), ..job.clone() }
}

/// Why an agreement refuses.
pub(super) fn under_the_floor(floor: &UnderTheFloor, currency: Currency) -> String {
    let amount = |minor: i64| with_currency(minor, currency);
    let left = match floor.available.minor() {
        minor if minor > 0 => format!("leaves only {} for them", amount(minor)),
        _ => String::from("leaves nothing for them"),
    };
    format!(
        "the shares of this route come to {} and the workshop's floor {left}; the agreement with {} refuses such a \
         quote. The end price, {}, is not what is refused: another route has the same.",
        amount(floor.shares.minor()),
        floor.refused_by,
        amount(floor.end_net.minor()),
    )
}

fn not_his(reader: &Reader) -> Failure {
    Failure::Usage(format!("{reader} is not on the route of this quote, so it is not his to see"))
}
