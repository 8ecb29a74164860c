//! Who may call what: one table, held against every call before it is read.

use std::sync::Arc;
use std::task::{Context, Poll};

use evenfare_store::caller::{CredentialKind, Role};
use evenfare_store::digest::Digest;
use http::header::AUTHORIZATION;
use http::{HeaderMap, Request, Response};
use tonic::Status;
use tonic::body::Body;
use tonic::codegen::BoxFuture;
use tower::{Layer, Service};

use super::callers::{Callers, Identity};
use super::refusal::Refusal;
use super::transport::{Call, Peer, keeping};

/// What a caller has to be. Partners are all alike here; what is one's own, the services see to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The office.
    Office,
    /// The accountant.
    Accountant,
    /// Any partner.
    Partner,
}

use Kind::{Accountant, Office, Partner};

/// Every method, and who may call it. A method that is not here can be called by nobody.
pub const METHODS: &[(&str, &[Kind])] = &[
    ("/evenfare.v1.OfficeService/PriceJob", &[Office]),
    ("/evenfare.v1.OfficeService/PriceJobs", &[Office]),
    ("/evenfare.v1.OfficeService/ReadRequest", &[Office]),
    ("/evenfare.v1.OfficeService/IssueQuote", &[Office]),
    ("/evenfare.v1.OfficeService/ReviseQuote", &[Office]),
    ("/evenfare.v1.OfficeService/ReverseQuote", &[Office]),
    ("/evenfare.v1.OfficeService/AcceptQuote", &[Office]),
    ("/evenfare.v1.OfficeService/DeclineQuote", &[Office]),
    ("/evenfare.v1.OfficeService/IssueInvoice", &[Office]),
    ("/evenfare.v1.OfficeService/IssueCreditNote", &[Office]),
    ("/evenfare.v1.OfficeService/GetInvoice", &[Office]),
    ("/evenfare.v1.OfficeService/ListInvoices", &[Office]),
    ("/evenfare.v1.OfficeService/GetQuote", &[Office]),
    ("/evenfare.v1.OfficeService/ListQuotes", &[Office]),
    ("/evenfare.v1.OfficeService/WatchQuotes", &[Office]),
    ("/evenfare.v1.OfficeService/GetDocument", &[Office]),
    ("/evenfare.v1.PartnerService/PriceOwnJob", &[Partner]),
    ("/evenfare.v1.PartnerService/GetOwnQuote", &[Partner]),
    ("/evenfare.v1.PartnerService/ListOwnQuotes", &[Partner]),
    ("/evenfare.v1.PartnerService/GetOwnInvoice", &[Partner]),
    ("/evenfare.v1.PartnerService/ListOwnInvoices", &[Partner]),
    ("/evenfare.v1.PartnerService/GetOwnDocument", &[Partner]),
    ("/evenfare.v1.AccountantService/ReadQuote", &[Accountant, Office]),
    ("/evenfare.v1.AccountantService/ReadQuotes", &[Accountant, Office]),
    ("/evenfare.v1.AccountantService/ReadInvoice", &[Accountant, Office]),
    ("/evenfare.v1.AccountantService/ReadInvoices", &[Accountant, Office]),
    ("/evenfare.v1.AccountantService/ExportPeriod", &[Accountant, Office]),
    ("/evenfare.v1.AccountantService/ReadDocument", &[Accountant, Office]),
    ("/evenfare.v1.AccountantService/Reconcile", &[Accountant, Office]),
    ("/evenfare.v1.AccountantService/CloseMonth", &[Accountant, Office]),
    ("/evenfare.v1.TariffService/CheckTariff", &[Office]),
    ("/evenfare.v1.TariffService/TryTariff", &[Office, Accountant]),
    ("/evenfare.v1.TariffService/PublishEdition", &[Office]),
    ("/evenfare.v1.TariffService/ListEditions", &[Office, Accountant]),
    ("/evenfare.v1.TariffService/ListRules", &[Office, Accountant, Partner]),
];

/// Services that anybody may call: they say whether the server is up and what it understands, and
/// nothing of what it keeps.
pub const OPEN: [&str; 3] = [
    "/grpc.health.v1.Health/",
    "/grpc.reflection.v1.ServerReflection/",
    "/grpc.reflection.v1alpha.ServerReflection/",
];

/// Who a call is from: what the services ask a request for.
pub(super) type Who = Arc<Identity>;

/// Lets a call pass, or answers why not. A token counts before a certificate; both together must be of
/// the same role.
fn admitted(
    callers: &Callers,
    path: &str,
    headers: &HeaderMap,
    extensions: &http::Extensions,
) -> Result<Option<Who>, Refusal> {
    if OPEN.iter().any(|open| path.starts_with(open)) {
        return Ok(None);
    }
    let nobody = || Refusal::Nobody("a token or a client certificate that the workshop knows is needed");
    let certificate = extensions.get::<Peer>().and_then(|peer| peer.certificate).map(Digest::from);
    let by_certificate = certificate.and_then(|digest| callers.holder(CredentialKind::Certificate, digest));
    let who = match headers.get(AUTHORIZATION) {
        None => by_certificate.ok_or_else(nobody)?,
        Some(header) => {
            let token = header.to_str().ok().and_then(token).ok_or_else(nobody)?;
            let by_token =
                callers.holder(CredentialKind::Token, Digest::of(token.as_bytes())).ok_or_else(nobody)?;
            if by_certificate.is_some_and(|other| other.role != by_token.role) {
                return Err(Refusal::Nobody("the token and the client certificate are of different roles"));
            }
            by_token
        }
    };
    // For the log, also where he is refused.
    if let Some(call) = extensions.get::<Call>() {
        call.name_caller(who.name.as_str());
    }
    let kind = match who.role {
        Role::Office => Office,
        Role::Accountant => Accountant,
        Role::Partner(_) => Partner,
    };
    let (_, may) = METHODS.iter().find(|(method, _)| *method == path).ok_or(Refusal::NoSuchMethod)?;
    if may.contains(&kind) {
        return Ok(Some(who));
    }
    Err(Refusal::NotHis)
}

/// The token of a header; in what letters its scheme is written does not count (RFC 9110, section 11.1).
fn token(header: &str) -> Option<&str> {
    let (scheme, token) = header.split_once(' ')?;
    scheme.eq_ignore_ascii_case("bearer").then_some(token)
}

/// Puts the table around the services.
#[derive(Debug, Clone)]
pub struct AccessLayer {
    /// Who is known.
    pub callers: Arc<Callers>,
}

/// The services, behind the table.
#[derive(Debug, Clone)]
pub struct Access<S> {
    inner: S,
    callers: Arc<Callers>,
}

impl<S> Layer<S> for AccessLayer {
    type Service = Access<S>;

    fn layer(&self, inner: S) -> Access<S> {
        Access { inner, callers: Arc::clone(&self.callers) }
    }
}

impl<S, B> Service<Request<B>> for Access<S>
where
    S: Service<Request<B>, Response = Response<Body>>,
    S::Future: Send + 'static,
    S::Error: Send + 'static,
{
    type Response = Response<Body>;
    type Error = S::Error;
    type Future = BoxFuture<Self::Response, S::Error>;

    fn poll_ready(&mut self, cx: &mut Context<'_>) -> Poll<Result<(), S::Error>> {
        self.inner.poll_ready(cx)
    }

    fn call(&mut self, mut request: Request<B>) -> Self::Future {
        let (path, headers) = (request.uri().path(), request.headers());
        let who = match admitted(&self.callers, path, headers, request.extensions()) {
            Ok(who) => who,
            Err(refusal) => return refused(refusal),
        };
        let Some(who) = who else { return Box::pin(self.inner.call(request)) };
        // Held until all of the answer is gone: who does not read it keeps nobody else out.
        let room = match who.one_more_call() {
            Ok(room) => room,
            Err(refusal) => return refused(refusal),
        };
        request.extensions_mut().insert(who);
        let call = self.inner.call(request);
        Box::pin(async move {
            let response = call.await?;
            Ok(match room {
                Some(room) => response.map(|body| keeping(body, room)),
                None => response,
            })
        })
    }
}

fn refused<E: Send + 'static>(refusal: Refusal) -> BoxFuture<Response<Body>, E> {
    Box::pin(std::future::ready(Ok(Status::from(refusal).into_http())))
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use chrono::DateTime;
    use evenfare_store::caller::Caller;
    use tonic::Code;

    const TOKEN: &str = "a token";

    fn known(role: &str) -> Arc<Callers> {
        let callers = Arc::new(Callers::default());
        callers.replace(vec![Caller {
            name: "somebody".parse().unwrap(),
            role: role.parse().unwrap(),
            kind: CredentialKind::Token,
            credential: Digest::of(TOKEN.as_bytes()),
            added: DateTime::UNIX_EPOCH,
            withdrawn: None,
        }]);
        callers
    }

    /// Services that never answer.
    fn silent(
        role: &str,
    ) -> Access<impl Service<Request<()>, Response = Response<Body>, Error = Status, Future: Send>> {
        let services =
            tower::service_fn(|_: Request<()>| std::future::pending::<Result<Response<Body>, Status>>());
        AccessLayer { callers: known(role) }.layer(services)
    }

    fn asked() -> Request<()> {
        let request = Request::builder().uri("/evenfare.v1.TariffService/ListRules");
        request.header(AUTHORIZATION, format!("Bearer {TOKEN}")).body(()).unwrap()
    }

    #[tokio::test]
    async fn one_partner_cannot_keep_the_others_out() {
        let mut services = silent("partner:P-1");
        let mut waiting: Vec<_> = (0..64).map(|_| services.call(asked())).collect();
        let refused = services.call(asked()).await.unwrap();
        assert_eq!(Status::from_header_map(refused.headers()).unwrap().code(), Code::ResourceExhausted);
        // One of them ends, and there is room for another.
        waiting.pop();
        let mut again = services.call(asked());
        assert!(futures_are_pending(&mut again).await);
        // The office has room of its own.
        let mut office = silent("office");
        let mut many: Vec<_> = (0..200).map(|_| office.call(asked())).collect();
        assert!(futures_are_pending(many.last_mut().unwrap()).await);
    }

    #[tokio::test]
    async fn an_answer_that_is_not_read_takes_room() {
        let services = tower::service_fn(|_: Request<()>| {
            let body = http_body_util::Full::from("bread");
            std::future::ready(Ok::<_, Status>(Response::new(Body::new(body))))
        });
        let mut services = AccessLayer { callers: known("partner:P-1") }.layer(services);
        let mut unread = Vec::new();
        for _ in 0..64 {
            unread.push(services.call(asked()).await.unwrap());
        }
        let code =
            |answer: Response<Body>| Status::from_header_map(answer.headers()).map(|status| status.code());
        assert_eq!(code(services.call(asked()).await.unwrap()), Some(Code::ResourceExhausted));
        unread.pop();
        assert_eq!(code(services.call(asked()).await.unwrap()), None);
    }

    async fn futures_are_pending<F: Future + Unpin>(future: &mut F) -> bool {
        tokio::time::timeout(std::time::Duration::from_millis(20), future).await.is_err()
    }
}
