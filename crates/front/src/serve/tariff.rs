//! Calls about tariffs.

use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::tariff::Edition;
use evenfare_engine::trail::Rule;
use evenfare_files::Report;
use evenfare_reconcile::what_if::Trial;
use evenfare_store::command::{Command, Request as Asked};
use evenfare_store::entry::KeptEdition;
use evenfare_store::event::Kept;
use prost::Message;
use tonic::codegen::BoxStream;
use tonic::{Request, Response, Status};

use super::answers;
use super::ask;
use super::house::{House, who};
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
        let (from, until) = ask::period(wire.from.as_ref(), wire.until.as_ref())?;
        let archive = archive(wire.files).map_err(Refusal::Input)?;
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
        let id = ask::request_id(&wire.request_id)?;
        let archive = archive(wire.files).map_err(Refusal::Input)?;
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
        Ok(Response::new(pb::PublishEditionResponse { edition: Some(answers::edition(kept)) }))
    }

    async fn list_editions(
        &self,
        _: Request<pb::ListEditionsRequest>,
    ) -> Result<Response<pb::ListEditionsResponse>, Status> {
        let editions = self.0.store.editions().await.map_err(Refusal::from)?;
        // An edition that is open ends where the next begins.
        let next = editions.iter().skip(1).map(|next| next.from.pred_opt()).chain([None]);
        let ended = |(edition, end): (&KeptEdition, Option<NaiveDate>)| {
            let mut edition = answers::edition(edition);
            edition.until = edition.until.or(end.map(Into::into));
            edition
        };
        let editions = editions.iter().zip(next).map(ended).collect();
        Ok(Response::new(pb::ListEditionsResponse { editions }))
    }

    async fn list_rules(
        &self,
        _: Request<pb::ListRulesRequest>,
    ) -> Result<Response<pb::ListRulesResponse>, Status> {
        let rule = |rule: &Rule| pb::Rule { code: rule.code().to_owned(), text: rule.text().to_owned() };
        Ok(Response::new(pb::ListRulesResponse { rules: Rule::ALL.iter().map(rule).collect() }))
    }
}
