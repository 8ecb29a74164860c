//! Month end over the wire: the books folder in, what came of it out, nothing kept.

use std::io::{self, Write};
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::problem::Severity;
use evenfare_files::{closing_file, parse_books, write_closing};
use evenfare_reconcile::change::Change;
use evenfare_reconcile::changed::Altered;
use evenfare_reconcile::month::Month;
use evenfare_store::digest::Digest;
use tokio::runtime::Handle;
use tokio::sync::mpsc::{self, Sender};
use tonic::codegen::BoxStream;
use tonic::{Status, Streaming};

use super::access::Who;
use super::books::{Brings, Files, PATIENCE, received};
use super::desks::Desk;
use super::house::{House, today};
use super::refusal::Refusal;
use super::scope::{self, Close, Scope};
use crate::editions::problem;
use crate::month::{Anchor, Done, Known, NotAsNoted, NotClosed, NotWritten, Output, as_noted};
use crate::wire::month_end::{bonus, difference, margins, settled, slip, transfer};
use crate::wire::pb;
use crate::wire::pb::reconcile_response::Part;

/// How long a piece is at most, in bytes.
const PIECE: usize = 64 << 10;
/// How many parts wait for a reader.
const AHEAD: usize = 4;

impl From<NotClosed> for Refusal {
    fn from(error: NotClosed) -> Self {
        match error {
            NotClosed::QuestionsOpen(_) => Self::NotClosed("QUESTIONS_OPEN", error.to_string()),
            NotClosed::OutOfOrder { .. }
            | NotClosed::ClosedAlready { .. }
            | NotClosed::NothingPosted { .. } => Self::NotClosed("CLOSING_OUT_OF_ORDER", error.to_string()),
            NotClosed::Unreconciled(error) => Self::Unreconciled(error),
        }
    }
}

impl From<NotAsNoted> for Refusal {
    fn from(error: NotAsNoted) -> Self {
        let reason = match error {
            NotAsNoted::Changed { .. } => "CLOSING_CHANGED",
            NotAsNoted::Missing(_) => "CLOSING_MISSING",
        };
        Self::NotAsNoted(reason, error.to_string())
    }
}

impl From<&Change<'_>> for pb::MonthEndChange {
    fn from(one: &Change<'_>) -> Self {
        let amounts = one.parts.iter().map(|part| pb::MonthEndAmount {
            of: part.of.word().to_owned(),
            was: Some(pb::Money::of(part.was_minor, part.currency)),
            is: Some(pb::Money::of(part.is_minor, part.currency)),
        });
        Self {
            how: one.how.word().to_owned(),
            posted: Some(one.posted.into()),
            closed: one.closed.to_string(),
            day: Some(one.day.into()),
            what: one.what.word().to_owned(),
            document: one.number.to_owned(),
            party: one.party.unwrap_or_default().to_owned(),
            amounts: amounts.collect(),
            altered: one.altered.iter().map(Into::into).collect(),
        }
    }
}

impl From<&Altered> for pb::MonthEndAltered {
    fn from(Altered { what, was, is }: &Altered) -> Self {
        Self { of: (*what).to_owned(), was: was.clone(), is: is.clone() }
    }
}

impl House {
    /// Reconciles a books folder with what the store knows.
    pub(super) async fn reconcile(
        self: &Arc<Self>,
        who: Who,
        messages: Streaming<pb::ReconcileRequest>,
    ) -> Result<BoxStream<pb::ReconcileResponse>, Status> {
        let (desk, scope, files) = self.taken_in(messages, |wire| scope::reconcile(&wire, today())).await?;
        let Scope { month, until, with_files, anchors } = scope;
        let (desk, done) = self.done(desk, &who, (files, anchors), until, month).await?;
        Ok(self.sent(who, desk, move |to| told(&done, with_files, to)))
    }

    /// Closes a month.
    pub(super) async fn close_month(
        self: &Arc<Self>,
        who: Who,
        messages: Streaming<pb::CloseMonthRequest>,
    ) -> Result<BoxStream<pb::CloseMonthResponse>, Status> {
        let (desk, close, files) = self.taken_in(messages, |wire| scope::close(&wire, today())).await?;
        let Close { month, with_open_questions, anchors } = close;
        let (desk, done) = self.done(desk, &who, (files, anchors), month.last_day(), Some(month)).await?;
        let closing = done.closed(month, with_open_questions).map_err(Refusal::from)?;
        Ok(self.sent(who, desk, move |to| {
            let file = write_closing(&closing);
            let count = |number: usize| u64::try_from(number).unwrap_or(u64::MAX);
            let mut closed = Some(pb::ClosedMonth {
                month: month.to_string(),
                file_name: closing_file(month),
                size: count(file.len()),
                digest: Digest::from(closing.digest).to_string(),
                transactions: count(closing.journal.len()),
                differences: count(closing.differences.len()),
                questions: count(done.books.undecided.len()),
                warnings: count(done.books.warnings.len()),
            });
            let pieces = file.as_bytes().chunks(PIECE);
            pieces
                .map(|piece| pb::CloseMonthResponse { closed: closed.take(), content: piece.to_vec() })
                .try_for_each(|piece| to.send(piece).map_err(NotWritten::from))
        }))
    }

    /// Takes a books folder in and waits for a desk. Where the server is about to stop nothing would come of it.
    async fn taken_in<M: Brings, T>(
        &self,
        messages: Streaming<M>,
        scope: impl FnOnce(M::Scope) -> Result<T, Refusal>,
    ) -> Result<(Desk, T, Files), Status> {
        let taken_on = self.books.take_on()?;
        let (asked, files) = tokio::select! {
            all = received(messages, scope) => all?,
            refusal = self.stopped() => return Err(refusal.into()),
        };
        Ok((self.books.seat(taken_on).await?, asked, files))
    }

    /// Reads the files, which have to be closed as was noted down, then the store, and holds one against the other. What
    /// takes a processor runs where nobody waits for an answer, and keeps its place until it ends, also where the caller has gone.
    async fn done(
        &self,
        desk: Desk,
        who: &Who,
        (files, anchors): (Files, Vec<Anchor>),
        until: NaiveDate,
        month: Option<Month>,
    ) -> Result<(Desk, Done), Refusal> {
        let (desk, books) = desk.work_on(move || parse_books(files, until)).await?;
        let books = books.map_err(|report| Refusal::Books(report.iter().map(problem).collect()))?;
        as_noted(&books.closings, &anchors)?;
        let published = self.editions.now();
        // What another agreement would have come to, and VAT in another currency, would be missing without a word.
        if published.tariffs.unreadable().next().is_some() {
            return Err(Refusal::UnreadableEdition);
        }
        let (desk, known) = desk.work_on(move || Known::new(Arc::clone(&published.tariffs))).await?;
        let known = known.read(&*self.store, |_| self.goes_on(who)).await?;
        let (desk, done) = desk.work_on(move || Done::of(books, known, month, |_| ())).await?;
        Ok((desk, done.map_err(Refusal::Unreconciled)?))
    }

    /// What is made apart, sent as it is made: a reader who is slow makes it wait, one who reads no more ends it.
    fn sent<T: Send + 'static>(
        self: &Arc<Self>,
        who: Who,
        desk: Desk,
        make: impl FnOnce(&To<T>) -> Result<(), NotWritten> + Send + 'static,
    ) -> BoxStream<T> {
        let (sender, mut parts) = mpsc::channel(AHEAD);
        let to = To { sender, runtime: Handle::current() };
        tokio::task::spawn_blocking(move || {
            let _desk = desk;
            let refusal = match make(&to) {
                Err(NotWritten::Overflow(error)) => error.into(),
                Err(NotWritten::NotSet(why)) => Refusal::NotWritable(why),
                // He who was to hear it has gone.
                Ok(()) | Err(NotWritten::Io(_)) => return,
            };
            let _ = to.put(Err(refusal.into()));
        });
        let house = Arc::clone(self);
        Box::pin(async_stream::try_stream! {
            while let Some(part) = parts.recv().await {
                house.goes_on(&who).map_err(Status::from)?;
                yield part?;
            }
        })
    }
}

/// Where parts go to.
struct To<T> {
    sender: Sender<Result<T, Status>>,
    runtime: Handle,
}

impl<T> To<T> {
    fn send(&self, part: T) -> io::Result<()> {
        self.put(Ok(part))
    }

    fn put(&self, part: Result<T, Status>) -> io::Result<()> {
        let sent = self.runtime.block_on(self.sender.send_timeout(part, PATIENCE));
        sent.map_err(|_| io::ErrorKind::BrokenPipe.into())
    }
}

/// Everything that came of it, in the order that the service promises.
fn told(done: &Done, with_files: bool, to: &To<pb::ReconcileResponse>) -> Result<(), NotWritten> {
    let send = |part| to.send(pb::ReconcileResponse { part: Some(part) });
    let count = |number: usize| u64::try_from(number).unwrap_or(u64::MAX);
    let earlier = |(month, differences): (Month, usize)| pb::MonthEndEarlier {
        month: month.to_string(),
        differences: count(differences),
        amount: None,
    };
    let (accepted, invoices) = done.known;
    send(Part::Summary(pb::MonthEndSummary {
        month: done.month.map(|month| month.to_string()).unwrap_or_default(),
        until: Some(done.until.into()),
        currency_code: done.currency.code().to_owned(),
        accepted: count(accepted),
        invoices: count(invoices),
        differences: count(done.differences().count()),
        settled: count(done.settled().count()),
        changes: done.changes().iter().map(Into::into).collect(),
        earlier: done.earlier().into_iter().map(earlier).collect(),
        questions: count(done.books.undecided.len()),
        warnings: count(done.books.warnings.len()),
    }))?;
    for warning in &done.books.warnings {
        send(Part::Warning((&slip(warning, Severity::Warning)).into()))?;
    }
    let found = done.differences().map(|found| difference(found, done.settled_later(found)));
    for one in found.chain(done.settled().map(settled)) {
        send(Part::Difference(one))?;
    }
    for question in &done.books.undecided {
        send(Part::Question(question.into()))?;
    }
    for balance in done.balances()? {
        send(Part::Balance((&balance).into()))?;
    }
    for open in &done.open()? {
        send(Part::Open(open.into()))?;
    }
    for one in &done.books.in_transit {
        send(Part::Transfer(transfer(one, done.currency)))?;
    }
    for one in done.bonuses() {
        send(Part::Bonus(bonus(one, done.currency)))?;
    }
    for margin in margins(&done.books.overview, done.currency)? {
        send(Part::Margin(margin))?;
    }
    if with_files {
        for output in Output::all(done)? {
            let mut pieces = Pieces { to, name: output.name.clone(), content: Vec::with_capacity(PIECE) };
            output.write(done, &mut pieces)?;
            pieces.end()?;
        }
    }
    Ok(())
}

/// A file on its way out, in pieces.
struct Pieces<'t> {
    to: &'t To<pb::ReconcileResponse>,
    name: String,
    content: Vec<u8>,
}

impl Pieces<'_> {
    fn send(&mut self) -> io::Result<()> {
        let content = std::mem::replace(&mut self.content, Vec::with_capacity(PIECE));
        let piece = pb::MonthEndPiece { name: std::mem::take(&mut self.name), content };
        self.to.send(pb::ReconcileResponse { part: Some(Part::Piece(piece)) })
    }

    /// Sends what is left; a file of nothing is a file as well.
    fn end(mut self) -> io::Result<()> {
        if self.content.is_empty() && self.name.is_empty() { Ok(()) } else { self.send() }
    }
}

impl Write for Pieces<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let room = PIECE.saturating_sub(self.content.len());
        let taken = bytes.get(..room).unwrap_or(bytes);
        self.content.extend_from_slice(taken);
        if self.content.len() == PIECE {
            self.send()?;
        }
        Ok(taken.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}
