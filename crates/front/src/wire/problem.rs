//! What is wrong with an input, on its way out.

use evenfare_engine::problem::Problem;

use super::pb;

impl From<&Problem> for pb::Problem {
    fn from(problem: &Problem) -> Self {
        Self {
            place: problem.place.to_string(),
            severity: pb::Severity::from(problem.severity).into(),
            code: problem.code.to_owned(),
            found: problem.found.clone(),
            expected: problem.expected.clone(),
        }
    }
}

impl<'p> FromIterator<&'p Problem> for pb::ProblemList {
    fn from_iter<I: IntoIterator<Item = &'p Problem>>(problems: I) -> Self {
        Self { problems: problems.into_iter().map(pb::Problem::from).collect() }
    }
}
