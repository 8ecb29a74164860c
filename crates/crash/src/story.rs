//! What is done to a store before the power goes: the store itself, through what anybody may ask of it.

use std::error::Error;
use std::future::Future;
use std::sync::Arc;
use std::time::Duration;

use chrono::{Days, NaiveDate};
use evenfare_engine::text::{Code, Text};
use evenfare_store::caller::{CredentialKind, Role};
use evenfare_store::command::{Command, Request};
use evenfare_store::digest::Digest;
use evenfare_store::entry::{Content, Entry, Offered};
use evenfare_store::event::{Kept, Record};
use evenfare_store::invoice::Sale;
use evenfare_store::number::Series;
use evenfare_store::refused::StoreError;
use evenfare_store::sqlite::Sqlite;
use evenfare_store::{Sight, Store as _};
use futures_util::future::join_all;
use rusqlite::{Connection, OpenFlags};

use crate::disk::{Disk, Mounted};
use crate::op::{File, Op};

/// What went wrong.
pub type Failed = Box<dyn Error + Send + Sync>;

/// All that was done and said.
#[derive(Clone)]
pub struct Story {
    /// What it is called.
    pub name: &'static str,
    /// What was done to the disk, and what was answered when.
    pub ops: Vec<Op>,
    /// All events with what was kept along with them, as they were answered.
    pub records: Arc<Vec<Record>>,
    /// The request of each.
    pub requests: Arc<Vec<Request>>,
}

/// A story as it goes on.
struct Course {
    mounted: Mounted,
    store: Sqlite,
    events: Vec<(Record, Request)>,
    asked: u32,
}

/// Runs it to its end, on this thread.
///
/// # Errors
/// Where there is no runtime, or what it comes to.
pub fn run<T>(future: impl Future<Output = Result<T, Failed>>) -> Result<T, Failed> {
    tokio::runtime::Builder::new_current_thread().enable_time().build()?.block_on(future)
}

/// A bit of everything, four times over: closed, killed, closed, killed. After each closing all is in the one file.
///
/// # Errors
/// Where the store does not do what it is asked to.
pub async fn office_days() -> Result<Story, Failed> {
    let mut course = Course::begin().await?;
    for day in 0..4 {
        course.settings(day).await?;
        course.quotes().await?;
        course.batch(9, 400).await?;
        course.one_for_all().await?;
        course.batch(3, 6_000).await?;
        course = if day % 2 == 0 { course.close_and_open().await? } else { course.kill_and_open().await? };
    }
    course.quotes().await?;
    Ok(course.end("office days"))
}

/// Documents of 600 kB, until the thread of checkpoints wakes up: once it has the time to take all over, and the log begins
/// anew; once small quotes are written meanwhile.
///
/// # Errors
/// Where the store does not do what it is asked to.
pub async fn checkpoints_beside_the_writer() -> Result<Story, Failed> {
    let mut course = Course::begin().await?;
    for has_time in [true, false] {
        for _ in 0..7 {
            course.batch(1, 600_000).await?;
        }
        if has_time {
            course.until_taken_over()?;
        }
        for _ in 0..4 {
            course.quotes().await?;
        }
        if has_time && !course.mounted.disk().look(|ops| begins_anew_after(ops, 4_000_000)) {
            return Err("the log has not begun anew".into());
        }
    }
    Ok(course.kill_and_open().await?.end("checkpoints"))
}

/// Somebody reads for long, so the log cannot begin anew and grows beyond its limit; the writer helps.
///
/// # Errors
/// Where the store does not do what it is asked to.
pub async fn a_long_log() -> Result<Story, Failed> {
    let mut course = Course::begin().await?;
    course.quotes().await?;
    let path = course.mounted.path();
    let reader = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    reader.execute_batch("BEGIN")?;
    let _: i64 = reader.query_row("SELECT count(*) FROM events", (), |row| row.get(0))?;
    for _ in 0..17 {
        course.batch(1, 1_000_000).await?;
    }
    drop(reader);
    // Woken once more, the thread says that the log is long; then the writer takes over what is left.
    let began_anew = |course: &Course| course.mounted.disk().look(|ops| begins_anew_after(ops, 16 << 20));
    for _ in 0..30 {
        if !began_anew(&course) {
            course.batch(1, 1_000_000).await?;
        }
    }
    if !began_anew(&course) {
        return Err("the log has not begun anew".into());
    }
    course.quotes().await?;
    Ok(course.close_and_open().await?.end("a long log"))
}

impl Course {
    async fn begin() -> Result<Self, Failed> {
        let mounted = Disk::after(Vec::new(), true).mount();
        let store = Sqlite::open(mounted.path())?;
        Ok(Self { mounted, store, events: Vec::new(), asked: 0 })
    }

    async fn close_and_open(self) -> Result<Self, Failed> {
        self.store.close().await;
        let store = Sqlite::open(self.mounted.path())?;
        Ok(Self { store, ..self })
    }

    /// What the killed process had not flushed is still there for the next one, and still not flushed.
    async fn kill_and_open(self) -> Result<Self, Failed> {
        let mounted = Disk::after(self.mounted.disk().killed(), true).mount();
        let store = Sqlite::open(mounted.path())?;
        Ok(Self { mounted, store, ..self })
    }

    fn end(self, name: &'static str) -> Story {
        let ops = self.mounted.disk().killed();
        let (records, requests): (Vec<_>, Vec<_>) = self.events.into_iter().unzip();
        Story { name, ops, records: Arc::new(records), requests: Arc::new(requests) }
    }

    /// Requests that wait together; what each is answered, as soon as it is.
    async fn ask(&mut self, commands: Vec<Command>) -> Result<Vec<Result<Record, StoreError>>, Failed> {
        let mut requests = Vec::new();
        for command in commands {
            self.asked += 1;
            requests.push(request(&format!("r-{}", self.asked), command)?);
        }
        let (store, disk) = (&self.store, self.mounted.disk());
        let answers = join_all(requests.iter().map(|request| async move {
            let answer = store.write(request.clone()).await;
            if let Ok(record) = &answer {
                disk.answered(record.event.sequence);
            }
            answer
        }));
        let answers = answers.await;
        let written = answers
            .iter()
            .zip(requests)
            .filter_map(|(answer, request)| Some((answer.clone().ok()?, request)));
        self.events.extend(written);
        self.events.sort_by_key(|(record, _)| record.event.sequence);
        let in_order =
            (1..).zip(&self.events).all(|(sequence, (record, _))| record.event.sequence == sequence);
        if in_order { Ok(answers) } else { Err("what was answered is no chain".into()) }
    }

    /// One request that has to be done.
    async fn do_one(&mut self, command: Command) -> Result<Record, Failed> {
        Ok(self.ask(vec![command]).await?.pop().ok_or("no answer")??)
    }

    fn editions(&self) -> usize {
        self.events.iter().filter(|(record, _)| matches!(record.kept, Kept::Edition(_))).count()
    }

    fn issue(&self, bytes: usize) -> Result<Command, Failed> {
        let content = Box::new(content(self.events.len(), bytes)?);
        Ok(Command::Issue { series: Series::usual(), content, editions: self.editions() })
    }

    /// This many quotes at once, and a request among them that has to be refused.
    async fn batch(&mut self, count: usize, bytes: usize) -> Result<(), Failed> {
        let mut commands = vec![self.issue(bytes)?; count];
        if count > 1 {
            let credit = Command::Credit {
                series: Series::of_invoices(),
                invoice: "R-2026-99999".parse()?,
                issued: day(0),
                reason: Text::default(),
            };
            commands.insert(count / 2, credit);
        }
        let refused = self.ask(commands).await?.iter().filter(|answer| answer.is_err()).count();
        if refused == usize::from(count > 1) {
            Ok(())
        } else {
            Err(format!("{refused} of a batch refused").into())
        }
    }

    async fn settings(&mut self, day_after: u64) -> Result<(), Failed> {
        let (code, from) = (format!("E{day_after}").parse()?, day(40 * day_after));
        let (currency, archive) = ("EUR".parse()?, vec![7; 5_000]);
        self.do_one(Command::Publish { code, from, until: None, currency, archive }).await?;
        let name: Code = format!("anna-{day_after}").parse()?;
        let credential = Digest::of(name.as_str().as_bytes());
        let (role, kind) = (Role::Partner("NORD".parse()?), CredentialKind::Token);
        self.do_one(Command::AddCaller { name: name.clone(), role, kind, credential }).await?;
        if day_after % 2 == 1 {
            self.do_one(Command::WithdrawCaller { name }).await?;
        }
        Ok(())
    }

    /// One quote revised, accepted, invoiced, credited and invoiced again; another declined and taken back.
    async fn quotes(&mut self) -> Result<(), Failed> {
        let first = self.do_one(self.issue(700)?).await?;
        let entry = entry_of(&first)?;
        let (number, mut content) = (entry.number.clone(), entry.content.clone());
        content.revision = 2;
        let (content, editions) = (Box::new(content), self.editions());
        let reason: Text = "one finding more".parse()?;
        let (etag, again) = (first.event.hash, number.clone());
        let revised = self.do_one(Command::Revise { number: again, etag, content, editions, reason }).await?;
        let accept = Command::Accept {
            number: number.clone(),
            etag: revised.event.hash,
            offer: "main".parse()?,
            day: day(1),
        };
        let accepted = self.do_one(accept).await?;
        let invoice = Command::Invoice {
            series: Series::of_invoices(),
            number,
            etag: accepted.event.hash,
            issued: day(2),
            due: day(16),
            sale: Sale { net_minor: 10_000, gross_minor: 11_900 },
        };
        let written = self.do_one(invoice.clone()).await?;
        let series = Series::of_invoices();
        let (invoice_number, reason) = (written.event.subject.parse()?, "due too late".parse()?);
        self.do_one(Command::Credit { series, invoice: invoice_number, issued: day(2), reason }).await?;
        self.do_one(invoice).await?;
        let second = self.do_one(self.issue(1_500)?).await?;
        let entry = entry_of(&second)?;
        let (number, mut content) = (entry.number.clone(), entry.content.clone());
        content.reversal = true;
        let decline = Command::Decline {
            number: number.clone(),
            etag: second.event.hash,
            day: day(3),
            reason: "too dear".parse()?,
        };
        let declined = self.do_one(decline).await?;
        let (etag, content, reason) = (declined.event.hash, Box::new(content), "wrong customer".parse()?);
        self.do_one(Command::Reverse { number, etag, content, reason }).await?;
        Ok(())
    }

    /// Waits until all of the log is in the file, and flushed there.
    fn until_taken_over(&self) -> Result<(), Failed> {
        for _ in 0..2_000 {
            if self.mounted.disk().look(is_taken_over) {
                return Ok(());
            }
            std::thread::sleep(Duration::from_millis(5));
        }
        Err("the log is not taken over".into())
    }

    /// The last request sent again, as by somebody who has not heard the answer; and quotes are read meanwhile.
    async fn one_for_all(&mut self) -> Result<(), Failed> {
        let (record, request) = self.events.last().ok_or("nothing was asked")?;
        let again = self.store.write(request.clone()).await?;
        if again != *record {
            return Err("asked twice, answered in two ways".into());
        }
        let number = "Q-2026-00001".parse()?;
        self.store.entry(&number, None, &Sight::All).await?.ok_or("the first quote is gone")?;
        Ok(())
    }
}

/// The file that was made last under a name that ends so.
fn last_file(ops: &[Op], ending: &str) -> Option<File> {
    ops.iter().rev().find_map(|op| match op {
        Op::Created { name, file } if name.ends_with(ending) => Some(*file),
        _ => None,
    })
}

/// Was the file flushed after the log was last written?
fn is_taken_over(ops: &[Op]) -> bool {
    let (log, main) = (last_file(ops, "-wal"), last_file(ops, "store.db"));
    let written = ops.iter().rposition(|op| matches!(op, Op::Wrote { file, .. } if Some(*file) == log));
    let flushed = ops.iter().rposition(|op| matches!(op, Op::Flushed { file } if Some(*file) == main));
    flushed > written
}

/// Was the log as long as that, and written from its beginning since?
fn begins_anew_after(ops: &[Op], bytes: usize) -> bool {
    let log = last_file(ops, "-wal");
    let place = |op: &Op| match op {
        Op::Wrote { file, at, .. } if Some(*file) == log => Some(*at),
        _ => None,
    };
    let places: Vec<_> = ops.iter().filter_map(place).collect();
    let long = places.iter().rposition(|at| *at >= bytes);
    long.is_some_and(|long| places.iter().skip(long).any(|at| *at == 0))
}

/// A request whose fingerprint is that of its command.
///
/// # Errors
/// Where the id is none.
pub fn request(id: &str, command: Command) -> Result<Request, Failed> {
    let fingerprint = Digest::of(format!("{command:?}").as_bytes());
    Ok(Request { id: id.parse()?, fingerprint, caller: "office-1".parse()?, command })
}

/// A first quote that nobody has asked for before.
///
/// # Errors
/// Where one of its texts is none.
pub fn one_more(id: &str, editions: usize) -> Result<Request, Failed> {
    let content = Box::new(content(0, 300)?);
    request(id, Command::Issue { series: Series::usual(), content, editions })
}

fn day(after: u64) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 3, 2).unwrap_or_default() + Days::new(after)
}

/// A first revision. Its document differs from page to page, so that one in another's place shows.
fn content(place: usize, bytes: usize) -> Result<Content, Failed> {
    let byte = |at: usize| {
        let [.., byte] = (at / 61).wrapping_mul(place + 7).to_be_bytes();
        byte
    };
    Ok(Content {
        revision: 1,
        reversal: false,
        reference: format!("JOB-{place}").parse()?,
        customer: "Bäckerei am Markt".parse()?,
        edition: "E0".parse()?,
        currency: "EUR".parse()?,
        quoted: day(0),
        valid_until: day(30),
        end_net_minor: 123_456,
        offers: vec![
            Offered { id: "main".parse()?, net_minor: Some(123_456) },
            Offered { id: "swap".parse()?, net_minor: Some(98_765) },
        ],
        partners: vec!["NORD".parse()?],
        document: (0..bytes).map(byte).collect(),
    })
}

fn entry_of(record: &Record) -> Result<&Entry, Failed> {
    match &record.kept {
        Kept::Entry(entry) => Ok(entry),
        _ => Err("no quote was answered".into()),
    }
}
