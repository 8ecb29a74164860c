//! What month end finds amiss in files that were read.

use evenfare_engine::problem::Severity;
use evenfare_reconcile::input::Slip;

use crate::report::{Mistake, Report, Says};

/// What month end finds amiss in files, as mistakes of them; `named` says by which name a file goes among people.
///
/// # Examples
/// ```
/// use evenfare_engine::problem::Severity;
/// use evenfare_files::slips;
/// use evenfare_reconcile::input::{Place, Slip};
/// let slip = Slip {
///     place: Place { file: "work_done.csv".into(), line: 4 },
///     code: "unknown_quote",
///     found: "Q-1".into(),
///     expected: "the number of a quote that was accepted".into(),
/// };
/// assert_eq!(
///     slips(&[slip], Severity::Warning, |file| format!("books/{file}")).to_string(),
///     "books/work_done.csv:4:1: warning[unknown_quote]: found `Q-1`, expected the number of a quote that was accepted"
/// );
/// ```
pub fn slips(slips: &[Slip], severity: Severity, named: impl Fn(&str) -> String) -> Report {
    let mistake = |slip: &Slip| {
        let says = Says { severity, ..Says::error(slip.code, &slip.found, slip.expected.as_str()) };
        Mistake::in_row(named(&slip.place.file), usize::try_from(slip.place.line).unwrap_or(usize::MAX), says)
    };
    slips.iter().map(mistake).collect()
}
