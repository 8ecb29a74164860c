//! What a caller is told who is refused: a status with its details, the same from services and transport.

use std::collections::HashMap;
use std::time::Duration;

use evenfare_engine::problem::Problem;
use prost::Message;
use prost_types::Any;
use tonic::{Code, Status};
use tonic_types::pb as rpc;

use crate::wire::pb;

/// The domain of every reason, as `google.rpc.ErrorInfo` wants one.
const DOMAIN: &str = "evenfare";

/// Trailers of more than 8 KiB are refused by common clients; a third is lost to base64.
const ROOM_FOR_PROBLEMS: usize = 5_000;
/// What is said in words stands in them three times, once with three bytes for each that is no letter of ASCII.
const LONGEST_TEXT: usize = 800;

/// What a caller is told.
pub(super) struct Told {
    /// How the call ends.
    pub(super) code: Code,
    /// A stable name, from the table in `refusal.proto`.
    pub(super) reason: String,
    /// In words.
    pub(super) message: String,
    /// What is wrong with the input.
    pub(super) problems: Vec<Problem>,
    /// What the route cannot carry.
    pub(super) under_the_floor: Option<pb::RefusedOffer>,
    /// When to try again.
    pub(super) retry: Option<Duration>,
}

impl Told {
    pub(super) fn new(code: Code, reason: impl Into<String>, message: impl Into<String>) -> Self {
        let (reason, message) = (reason.into(), message.into());
        Self { code, reason, message, problems: Vec::new(), under_the_floor: None, retry: None }
    }

    pub(super) fn refusal(&self) -> pb::Refusal {
        pb::Refusal {
            reason: self.reason.clone(),
            message: self.message.clone(),
            problems: (!self.problems.is_empty()).then(|| self.problems.iter().collect()),
            under_the_floor: self.under_the_floor.clone(),
        }
    }
}

/// All of it as the end of a call.
impl From<Told> for Status {
    fn from(told: Told) -> Self {
        let info = rpc::ErrorInfo {
            reason: told.reason.clone(),
            domain: DOMAIN.to_owned(),
            metadata: HashMap::new(),
        };
        let mut details = vec![any("google.rpc.ErrorInfo", &info)];
        let told = Told { message: shortened(told.message), ..told };
        let mut message = told.message.clone();
        if !told.problems.is_empty() {
            let request = bad_request(&told.problems);
            if request.field_violations.len() < told.problems.len() {
                message.push_str(&format!("; the details have the first {}", request.field_violations.len()));
            }
            details.push(any("google.rpc.BadRequest", &request));
        }
        if let Some(retry) = told.retry {
            let retry_delay = prost_types::Duration::try_from(retry).ok();
            details.push(any("google.rpc.RetryInfo", &rpc::RetryInfo { retry_delay }));
        }
        // The problems stand in the bad request already.
        let refusal = pb::Refusal { problems: None, ..told.refusal() };
        details.push(any("evenfare.v1.Refusal", &refusal));
        let status = rpc::Status { code: told.code.into(), message: message.clone(), details };
        Self::with_details(told.code, message, status.encode_to_vec().into())
    }
}

/// As many problems as fit into what clients take as trailers, in their order.
fn bad_request(problems: &[Problem]) -> rpc::BadRequest {
    let mut room = ROOM_FOR_PROBLEMS;
    let mut field_violations = Vec::new();
    for problem in problems {
        let field = problem.place.to_string();
        let description = problem.to_string();
        let description = description.strip_prefix(&*field).unwrap_or(&description);
        let violation = rpc::bad_request::FieldViolation {
            description: shortened(description.trim_start_matches([':', ' ']).to_owned()),
            reason: problem.code.to_uppercase(),
            localized_message: None,
            field,
        };
        let Some(left) = room.checked_sub(violation.encoded_len().saturating_add(4)) else { break };
        room = left;
        field_violations.push(violation);
    }
    rpc::BadRequest { field_violations }
}

/// As much of a text as there is room for.
fn shortened(mut text: String) -> String {
    let too_much = text.char_indices().map(|(at, _)| at).find(|at| *at > LONGEST_TEXT);
    if let Some(at) = too_much {
        text.truncate(at);
        text.push('…');
    }
    text
}

fn any(name: &str, message: &impl Message) -> Any {
    Any { type_url: format!("type.googleapis.com/{name}"), value: message.encode_to_vec() }
}
