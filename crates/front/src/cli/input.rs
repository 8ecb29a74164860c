//! From the files named to a priced quote, with what is wrong told at its place.

use std::path::Path;

use chrono::NaiveDate;
use evenfare_engine::job::Job;
use evenfare_engine::money::Currency;
use evenfare_engine::nearest::or_nearest;
use evenfare_engine::problem::Problem;
use evenfare_engine::quote::Quote;
use evenfare_engine::tariff::Edition;
use evenfare_engine::text::Code;
use evenfare_engine::view::{Reader, View, view_of};
use evenfare_engine::{Refused, UnderTheFloor};
use evenfare_files::{JobSource, Report, Stationery, Tariffs, read_job, read_job_for, read_tariff};
use serde::Serialize;

use super::args::Sight;
use super::outcome::{Failure, Floor};
use super::text::words::{count, in_a_shell, route};
use super::text::{Page, style};

/// A job and the tariff it is priced by, as read.
pub(super) struct Input {
    pub(super) job: Job,
    source: JobSource,
    tariffs: Tariffs,
}

/// A quote as its reader sees it.
pub(super) struct Seen {
    pub(super) view: View,
    /// What the file of its job says and the job leaves out.
    pub(super) unread: Report,
    /// What became of it, where it is kept.
    pub(super) became: Option<Became>,
    /// What is to be said beside it.
    pub(super) note: String,
}

/// The number of a quote that is kept, and what became of it.
#[derive(Serialize)]
pub(super) struct Became {
    pub(super) number: String,
    pub(super) state: &'static str,
    pub(super) accepted_offer: Option<Code>,
    pub(super) settled: Option<NaiveDate>,
    /// The same in words.
    #[serde(skip)]
    pub(super) said: String,
}

/// Reads both; mistakes of both are told together.
pub(super) fn read(job: &Path, tariff: &Path) -> Result<Input, Failure> {
    let tariffs = read_tariff(tariff);
    let job = match &tariffs {
        Ok(tariffs) => read_job_for(job, tariffs),
        Err(_) => read_job(job),
    };
    match (job, tariffs) {
        (Ok((job, source)), Ok(tariffs)) => Ok(Input { job, source, tariffs }),
        (job, tariffs) => {
            let reports = [job.err(), tariffs.err()];
            let report = reports.into_iter().flatten().flatten().collect::<Report>();
            Err(if tariff.is_dir() { Failure::Mistakes(report) } else { Failure::NoTariff(report) })
        }
    }
}

impl Input {
    /// The edition that prices what was received on the job's day.
    pub(super) fn edition(&self) -> Result<&Edition, Failure> {
        let edition = self.tariffs.edition_for(&self.job);
        edition.map_err(|problem| Failure::Mistakes(self.located([problem])))
    }

    /// The currency of the quote.
    pub(super) fn currency(&self, edition: &Edition) -> Currency {
        self.job.currency.unwrap_or(edition.currency())
    }

    /// What the file of the job says and the job leaves out.
    pub(super) fn unread(&self) -> &Report {
        self.source.warnings()
    }

    /// What in the job was not read, and that the tariff has warnings, where it has.
    pub(super) fn note(&self, tariff: &Path) -> String {
        let warnings = self.tariffs.warnings().len();
        let mut page = Page::default();
        for warning in self.unread() {
            page.labelled(style::CARE, "warning", &warning.located().to_string());
        }
        if warnings > 0 {
            let seen = format!(
                "the tariff has {}; `evenfare tariff check {}` shows them",
                count(warnings, "warning"),
                in_a_shell(&tariff.display())
            );
            page.labelled(style::CARE, "warning", &seen);
        }
        page.finish()
    }

    /// What one reader sees of the quote by the route asked for.
    pub(super) fn sight(&self, sight: &Sight) -> Result<View, Failure> {
        let quote = self.quote(sight)?;
        let by = route(quote.route.iter().map(|party| &party.code));
        view_of(quote, sight.reader()).ok_or_else(|| not_his(sight.reader(), &by))
    }

    /// The quote by the route asked for, where it is for that reader.
    pub(super) fn quote(&self, sight: &Sight) -> Result<Quote, Failure> {
        let edition = self.edition()?;
        let job = match &sight.route {
            Some(route) => self.job.by_route(&route.0),
            None => self.job.clone(),
        };
        if let Reader::Partner(own) = sight.reader()
            && !job.route.iter().any(|stop| stop.partner == *own)
        {
            let by = route(job.route.iter().map(|stop| &stop.partner));
            return Err(nobody(own, edition).unwrap_or_else(|| not_his(sight.reader(), &by)));
        }
        self.priced(&job, edition, sight)
    }

    /// What documents of that quote are written with.
    pub(super) fn stationery(&self, quote: &Quote) -> &Stationery {
        self.tariffs.stationery(quote.edition.as_str())
    }

    /// The quote by the job's own route; else why an agreement on it refuses the quote.
    pub(super) fn by_own_route(&self) -> Result<Result<Quote, Box<UnderTheFloor>>, Failure> {
        let edition = self.edition()?;
        match evenfare_engine::quote(&self.job, edition) {
            Ok(quote) => Ok(Ok(quote)),
            Err(Refused::UnderTheFloor(floor)) => Ok(Err(floor)),
            Err(refused) => Err(self.failure(refused, self.currency(edition))),
        }
    }

    fn priced(&self, job: &Job, edition: &Edition, sight: &Sight) -> Result<Quote, Failure> {
        let currency = self.currency(edition);
        evenfare_engine::quote(job, edition).map_err(|refused| match refused {
            Refused::Job(problems) if job.route != self.job.route => self.with_route(problems),
            Refused::UnderTheFloor(floor) => {
                let sees_all = sight.reader().sees_all();
                Failure::UnderTheFloor(Box::new(Floor { floor: *floor, currency, sees_all }))
            }
            refused => self.failure(refused, currency),
        })
    }

    /// Why a job has no quote, at the place in its file where there is one.
    pub(super) fn failure(&self, refused: Refused, currency: Currency) -> Failure {
        let code = refused.code();
        match refused {
            Refused::Job(problems) => Failure::Mistakes(self.located(problems)),
            Refused::UnderTheFloor(floor) => {
                Failure::UnderTheFloor(Box::new(Floor { floor: *floor, currency, sees_all: true }))
            }
            Refused::TooLarge | Refused::OutOfCalendar => Failure::BadInput(code, refused.to_string()),
            Refused::Unsealed(reason) => {
                Failure::Internal(format!("the quote could not be sealed: {reason}"))
            }
        }
    }

    /// Problems at their places in the job's file, with what of it was not read: that may be why.
    fn located(&self, problems: impl IntoIterator<Item = Problem>) -> Report {
        self.source.locate(problems).into_iter().chain(self.unread().iter().cloned()).collect()
    }

    /// Problems of a route from the command line have no place in the file; the others do.
    fn with_route(&self, problems: Vec<Problem>) -> Failure {
        let is_of_route = |problem: &Problem| problem.place.as_str().starts_with("route");
        let (route, others): (Vec<_>, Vec<_>) = problems.into_iter().partition(is_of_route);
        let others = self.located(others);
        if route.is_empty() { Failure::Mistakes(others) } else { Failure::Route(route, others) }
    }
}

/// A reader whose code no partner of the edition has, with the nearest that one has.
fn nobody(code: &Code, edition: &Edition) -> Option<Failure> {
    let partners = || edition.partners().iter().map(|partner| partner.party.code.as_str());
    if partners().any(|known| known == code.as_str()) {
        return None;
    }
    let missing = format!("--as: edition {} has no partner `{code}`", edition.code());
    Some(Failure::Usage(or_nearest(&missing, code.as_str(), partners())))
}

fn not_his(reader: &Reader, route: &str) -> Failure {
    Failure::Usage(format!("{reader} is not on the route of this quote ({route}), so it is not his to see"))
}
