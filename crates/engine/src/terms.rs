//! Terms: warranty and validity.

use chrono::NaiveDate;

use crate::job::Task;
use crate::order::{Order, UnitOrder};
use crate::period::{OutOfCalendar, last_day_of_days, last_day_of_months};
use crate::plan::is_covered;
use crate::role::Role;
use crate::text::{Code, Text};
use crate::trail::{Rule, Step, Trail};

/// The warranty a unit leaves with.
///
/// Months from dispatch, by the period rule of Regulation 1182/71 that the workshop's terms adopt.
/// It ends earlier when the cycle limit is reached, where there is one.
#[derive(Debug, Clone, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Warranty {
    /// The day of dispatch.
    pub from: NaiveDate,
    /// The last day that counts.
    pub until: NaiveDate,
    /// It ends earlier after this many duty cycles, counted from that day.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub cycles: Option<u64>,
    /// What was found and is not covered, each once.
    pub excludes: Vec<Text>,
}

/// The warranty that a returned unit still had when it came back.
#[derive(Debug, Clone, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct OpenCover {
    /// The quote it left with.
    pub quote: Code,
    /// The last day that counts.
    pub until: NaiveDate,
    /// The duty cycles left, where they are limited.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub cycles_left: Option<u64>,
}

/// The warranty of a unit; none where it was declined. A unit that was mended for free keeps the
/// warranty it came back under.
pub(crate) fn warranty(
    order: &Order<'_>,
    unit: &UnitOrder<'_>,
    charged: bool,
    trail: &mut impl Trail,
) -> Result<Option<Warranty>, OutOfCalendar> {
    let excludes = || {
        if unit.task == Task::Exchange {
            // Another unit leaves: what was found in this one is none of its.
            return Vec::new();
        }
        let mut excluded: Vec<_> = unit.findings.iter().filter(|found| !is_covered(found)).collect();
        // What was found at two places is excluded once: the places of one finding stand together.
        excluded.dedup_by_key(|found| found.finding.rank);
        excluded.into_iter().map(|found| found.finding.text.clone()).collect::<Vec<_>>()
    };
    if unit.task == Task::Decline {
        return Ok(None);
    }
    if let (false, Some(cover), Some(returned)) = (charged, unit.cover, unit.unit.returned.as_ref()) {
        trail.step(|| {
            Step::new(format_args!("warranty.{}.until", unit.unit.id), Rule::LastDay, cover.until)
                .job(
                    Role::LeftOn,
                    returned.dispatched,
                    format_args!("units[{}].returned.dispatched", unit.index),
                )
                .job(
                    Role::Months,
                    returned.warranty_months,
                    format_args!("units[{}].returned.warranty_months", unit.index),
                )
        });
        return Ok(Some(Warranty {
            from: returned.dispatched,
            until: cover.until,
            cycles: returned.warranty_cycles,
            excludes: excludes(),
        }));
    }
    let months = unit.family.warranty_months;
    let until = last_day_of_months(order.dispatch, months)?;
    trail.step(|| {
        Step::new(format_args!("warranty.{}.until", unit.unit.id), Rule::LastDay, until)
            .job(Role::Dispatch, order.dispatch, "dispatch")
            .tariff(
                Role::Months,
                months,
                format_args!("families.csv {} or edition.toml terms", unit.family.code),
            )
    });
    Ok(Some(Warranty {
        from: order.dispatch,
        until,
        cycles: order.edition.terms.warranty_cycles,
        excludes: excludes(),
    }))
}

/// The last day on which the quote can be accepted.
pub(crate) fn valid_until(order: &Order<'_>, trail: &mut impl Trail) -> Result<NaiveDate, OutOfCalendar> {
    let days = order.edition.terms.validity_days;
    let until = last_day_of_days(order.quoted, days)?;
    trail.step(|| {
        Step::new("valid_until", Rule::LastDay, until).job(Role::Quoted, order.quoted, "quoted").tariff(
            Role::Days,
            days,
            "edition.toml terms.validity_days",
        )
    });
    Ok(until)
}

/// The cover a unit came back under, where it is open.
pub(crate) fn open_cover(unit: &UnitOrder<'_>) -> Option<OpenCover> {
    let cover = unit.cover?;
    let quote = unit.unit.returned.as_ref()?.quote.clone();
    Some(OpenCover { quote, until: cover.until, cycles_left: cover.cycles_left })
}
