//! Calls about tariffs.

use std::sync::Arc;

use evenfare_engine::tariff::Edition;
use evenfare_engine::trail::Rule;
use evenfare_files::Report;
use evenfare_reconcile::what_if::Trial;
use evenfare_store::command::{Command, Request as Asked};
use evenfare_store::event::Kept;
use prost::Message;
use tonic::codegen::BoxStream;
use tonic::{Request, Response, Status};

use super::ask;
use super::house::{House, who};
use super::pages;
use super::refusal::Refusal;
use crate::editions::{archive, problem, read};
use crate::trial::{Period, Trying};
use crate::wire::answer::tariff_service_server::TariffService;
use crate::wire::pb;
use crate::wire::trial::trial;

/// The calls about tariffs on what all services share.
pub(super) struct Tariff(pub(super) Arc<House>);

impl Tariff {
    /// Reading a tariff takes a while: not where calls are answered.
    async fn read_apart(
        &self,
        archive: pb::TariffArchive,
    ) -> Result<Result<(Edition, Report), Report>, Refusal> {
        let desk = self.0.jobs.place().await?;
        desk.work(move || read(&archive).map(|((edition, _), warnings)| (edition, warnings))).await
    }
}

fn in_the_files(report: Report) -> Refusal {
    Refusal::Files(report.iter().map(problem).collect())
}

/// The files of an edition, beside what else is asked for: what is wrong with either is told at once.
fn with_files<T>(
    asked: Result<T, Refusal>,
    files: Vec<pb::TariffFile>,
) -> Result<(T, pb::TariffArchive), Refusal> {
    match (asked, archive(files)) {
        (Ok(asked), Ok(archive)) => Ok((asked, archive)),
        (Ok(_), Err(problems)) => Err(Refusal::Input(problems)),
        (Err(Refusal::Input(problems)), Err(more)) => Err(Refusal::Input([problems, more].concat())),
        (Err(refusal), _) => Err(refusal),
    }
}

#[tonic::async_trait]
impl TariffService for Tariff {
    async fn check_tariff(
        &self,
        request: Request<pb::CheckTariffRequest>,
    ) -> Result<Response<pb::CheckTariffResponse>, Status> {
        let archive = archive(request.into_inner().files).map_err(Refusal::Input)?;
        let report = match self.read_apart(archive).await? {
            Ok((_, warnings)) => warnings,
            Err(mistakes) => mistakes,
        };
        let mistakes = report.iter().map(pb::TariffMistake::from).collect();
        Ok(Response::new(pb::CheckTariffResponse { mistakes }))
    }

    type TryTariffStream = BoxStream<pb::TryTariffResponse>;

    async fn try_tariff(
        &self,
        request: Request<pb::TryTariffRequest>,
    ) -> Result<Response<Self::TryTariffStream>, Status> {
        let who = who(&request)?;
        let wire = request.into_inner();
        let period = ask::period(wire.from.as_ref(), wire.until.as_ref());
        let ((from, until), archive) = with_files(period, wire.files)?;
        let room = self.0.room_for_a_stream()?;
        let outcome = self.read_apart(archive).await?;
        let (proposed, _) = outcome.map_err(in_the_files)?;
        let period = Period { from, until, accepted_only: wire.accepted_only };
        let house = Arc::clone(&self.0);
        let trying = Trying::begin(Arc::clone(&house.store), proposed, period).await;
        let mut trying = trying.map_err(Refusal::from)?;
        Ok(Response::new(Box::pin(async_stream::try_stream! {
            let _room = room;
            let mut sums = Trial::new(trying.proposed());
            loop {
                house.goes_on(&who).map_err(Status::from)?;
                let desk = house.documents.turn().await?;
                let Some(tried) = trying.next(desk).await.map_err(Refusal::from)? else { break };
                for one in &tried {
                    sums.add(one).map_err(Refusal::from)?;
                }
                yield pb::TryTariffResponse { tried: sums.tried(), trial: None };
            }
            yield pb::TryTariffResponse { tried: sums.tried(), trial: Some(trial(&sums)) };
        })))
    }

    async fn publish_edition(
        &self,
        request: Request<pb::PublishEditionRequest>,
    ) -> Result<Response<pb::PublishEditionResponse>, Status> {
        let who = who(&request)?;
        let wire = request.into_inner();
        let (id, archive) = with_files(ask::request_id(&wire.request_id), wire.files)?;
        let bytes = archive.encode_to_vec();
        let fingerprint = ask::fingerprint("PublishEdition", &archive);
        let outcome = self.read_apart(archive).await?;
        let (edition, _) = outcome.map_err(in_the_files)?;
        let command = Command::Publish {
            code: edition.code().clone(),
            from: edition.span().from,
            until: edition.span().until,
            currency: edition.currency(),
            archive: bytes,
        };
        let asked = Asked { id, fingerprint, caller: who.name.clone(), command };
        let record = self.0.written(asked).await?;
        let Kept::Edition(kept) = &record.kept else {
            return Err(Refusal::Internal(format!(
                "event {} is not about an edition",
                record.event.sequence
            ))
            .into());
        };
        // From here on it prices, and not only from the next look on.
        if let Err(error) = self.0.look().await {
            tracing::warn!(%error, "an edition was published; it prices after the next look");
        }
        Ok(Response::new(pb::PublishEditionResponse { edition: Some(kept.as_ref().into()) }))
    }

    async fn list_editions(
        &self,
        request: Request<pb::ListEditionsRequest>,
    ) -> Result<Response<pb::ListEditionsResponse>, Status> {
        let wire = request.into_inner();
        // What is told of them is known; other servers may have published one since.
        self.0.look().await.map_err(Refusal::from)?;
        let published = self.0.editions.now();
        let (editions, next_page_token) = pages::editions(&published.told, wire.page_size, &wire.page_token)?;
        Ok(Response::new(pb::ListEditionsResponse { editions, next_page_token }))
    }

    async fn list_rules(
        &self,
        _: Request<pb::ListRulesRequest>,
    ) -> Result<Response<pb::ListRulesResponse>, Status> {
        let rule = |rule: &Rule| pb::Rule { code: rule.code().to_owned(), text: rule.text().to_owned() };
        Ok(Response::new(pb::ListRulesResponse { rules: Rule::ALL.iter().map(rule).collect() }))
    }
}
