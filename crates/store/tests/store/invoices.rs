//! Invoices and credit notes: what may follow what, and who sees them.

use std::sync::Arc;

use chrono::{Days, NaiveDate};
use evenfare_store::audit::audit;
use evenfare_store::command::Command;
use evenfare_store::digest::Digest;
use evenfare_store::entry::State;
use evenfare_store::event::{Kept, Record};
use evenfare_store::invoice::{Invoice, Sale};
use evenfare_store::number::Number;
use evenfare_store::postgres::Postgres;
use evenfare_store::refused::{Refused, StoreError};
use evenfare_store::sqlite::Sqlite;
use evenfare_store::{InvoiceFilter, InvoiceListing, Sight, Store};

use crate::postgres::Cluster;
use crate::world::{code, content, day, issue, request, run, schema, series, text};

const SALE: Sale = Sale { net_minor: 10_000, gross_minor: 11_900 };

/// A store, and requests with ids of their own.
struct Desk<'a> {
    store: &'a dyn Store,
    asked: u32,
}

impl Desk<'_> {
    async fn write(&mut self, command: Command) -> Result<Record, Refused> {
        self.asked += 1;
        match self.store.write(request(&format!("d-{}", self.asked), command)).await {
            Ok(record) => Ok(record),
            Err(StoreError::Refused(refused)) => Err(refused),
            Err(error) => panic!("{error}"),
        }
    }

    async fn accepted(&mut self, partners: &[&str]) -> (Number, Digest) {
        self.asked += 1;
        let mut quote = content(day(2026, 7, 1), 50);
        quote.partners = partners.iter().map(|partner| code(partner)).collect();
        let record = self.store.write(issue(&format!("q-{}", self.asked), "Q", quote)).await.unwrap();
        let number: Number = record.event.subject.parse().unwrap();
        let etag = self.accept(&number, record.event.hash).await;
        (number, etag)
    }

    async fn accept(&mut self, number: &Number, etag: Digest) -> Digest {
        self.accept_on(number, etag, day(2026, 7, 5)).await
    }

    async fn accept_on(&mut self, number: &Number, etag: Digest, on: NaiveDate) -> Digest {
        let offer = code("swap");
        let accept = Command::Accept { number: number.clone(), etag, offer, day: on };
        self.write(accept).await.unwrap().event.hash
    }

    async fn invoice(
        &mut self,
        (number, etag): &(Number, Digest),
        on: NaiveDate,
    ) -> Result<Invoice, Refused> {
        self.invoice_in("R", (number, etag), (on, on + Days::new(14))).await
    }

    async fn invoice_in(
        &mut self,
        named: &str,
        (number, etag): (&Number, &Digest),
        (issued, due): (NaiveDate, NaiveDate),
    ) -> Result<Invoice, Refused> {
        let (series, number, etag) = (series(named), number.clone(), *etag);
        let command = Command::Invoice { series, number, etag, issued, due, sale: SALE };
        self.write(command).await.map(invoice_of)
    }

    async fn credit(&mut self, invoice: &Number, issued: NaiveDate) -> Result<Invoice, Refused> {
        let (series, invoice) = (invoice.series.clone(), invoice.clone());
        self.write(Command::Credit { series, invoice, issued, reason: text("wrong buyer") })
            .await
            .map(invoice_of)
    }

    async fn seen(&self, sight: &Sight) -> Vec<String> {
        let (filter, sight) = (InvoiceFilter::default(), sight.clone());
        let listing = InvoiceListing { sight, filter, before: None, limit: 100 };
        let page = self.store.invoices(&listing).await.unwrap();
        page.invoices.iter().map(|invoice| invoice.number.to_string()).collect()
    }
}

fn invoice_of(record: Record) -> Invoice {
    match record.kept {
        Kept::Invoice(invoice) => *invoice,
        other => panic!("{other:?}"),
    }
}

fn number(text: &str) -> Number {
    text.parse().unwrap()
}

/// On both databases.
fn on_each(check: impl AsyncFn(&dyn Store)) {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let mut stores: Vec<Box<dyn Store>> =
            vec![Box::new(Sqlite::open(folder.path().join("store.db")).unwrap())];
        let cluster = Cluster::shared();
        if let Some(cluster) = &cluster {
            stores.push(Box::new(Postgres::connect(&schema(cluster)).await.unwrap()));
        }
        for store in stores {
            check(store.as_ref()).await;
            audit(store.as_ref(), None, |_| Ok(())).await.unwrap();
            store.close().await;
        }
    });
}

#[test]
fn what_was_accepted_is_invoiced_once() {
    on_each(async |store| {
        let mut desk = Desk { store, asked: 0 };
        let quote = desk.accepted(&["NORD", "SUED"]).await;
        let on = day(2026, 7, 20);
        let invoice = desk.invoice(&quote, on).await.unwrap();
        assert_eq!(invoice.number, number("R-2026-00001"));
        let billed = &invoice.billed;
        assert_eq!((&billed.quote, billed.revision, &billed.offer), (&quote.0, 1, &code("swap")));
        assert_eq!((&billed.partner, billed.issued, billed.sale), (&Some(code("NORD")), on, SALE));
        assert_eq!((billed.due, &billed.preceding), (Some(day(2026, 8, 3)), &None));
        // The quote is as it was, and its etag still holds.
        let entry = store.entry(&quote.0, None, &Sight::All).await.unwrap().unwrap();
        assert_eq!((entry.state, entry.etag), (State::Accepted, quote.1));
        let again = desk.invoice(&quote, on).await.unwrap_err();
        assert_eq!(
            again,
            Refused::AlreadyInvoiced { number: quote.0.clone(), invoice: invoice.number.clone() }
        );
        let stale = desk.invoice(&(quote.0, Digest::ZERO), on).await.unwrap_err();
        assert!(matches!(stale, Refused::EtagMismatch { .. }), "{stale}");
    });
}

#[test]
fn a_credit_note_takes_a_whole_invoice_back_once() {
    on_each(async |store| {
        let mut desk = Desk { store, asked: 0 };
        let quote = desk.accepted(&[]).await;
        let on = day(2026, 7, 20);
        let invoice = desk.invoice(&quote, on).await.unwrap();
        let early = desk.credit(&invoice.number, day(2026, 7, 19)).await.unwrap_err();
        assert_eq!(early, Refused::BeforeInvoice { number: invoice.number.clone(), issued: on });
        let note = desk.credit(&invoice.number, on).await.unwrap();
        assert_eq!((&note.number, note.reason.as_str()), (&number("R-2026-00002"), "wrong buyer"));
        assert_eq!((&note.billed.preceding, note.billed.due), (&Some(invoice.number.clone()), None));
        assert_eq!(note.billed.sale, Sale { net_minor: -10_000, gross_minor: -11_900 });
        let kept = store.invoice(&invoice.number, &Sight::All).await.unwrap().unwrap();
        assert_eq!(kept.credited, Some(note.number.clone()));
        assert_eq!(Invoice { credited: None, ..kept }, invoice);
        let twice = desk.credit(&invoice.number, on).await.unwrap_err();
        let (number, credit_note) = (invoice.number.clone(), note.number.clone());
        assert_eq!(twice, Refused::AlreadyCredited { number, credit_note });
        let of_a_note = desk.credit(&note.number, on).await.unwrap_err();
        assert!(matches!(of_a_note, Refused::NotAnInvoice { .. }), "{of_a_note}");
        // What is still accepted can be invoiced anew.
        assert_eq!(desk.invoice(&quote, on).await.unwrap().number.to_string(), "R-2026-00003");
    });
}

#[test]
fn a_revision_is_invoiced_after_the_old_invoice_was_credited() {
    on_each(async |store| {
        let mut desk = Desk { store, asked: 0 };
        let quote = desk.accepted(&[]).await;
        let on = day(2026, 7, 20);
        let first = desk.invoice(&quote, on).await.unwrap();
        let mut next = content(day(2026, 7, 2), 60);
        next.revision = 2;
        let (of, etag, reason) = (quote.0.clone(), quote.1, text("a part was forgotten"));
        let revise = Command::Revise { number: of, etag, content: Box::new(next), editions: 0, reason };
        let etag = desk.write(revise).await.unwrap().event.hash;
        let open = (quote.0.clone(), etag);
        let refused = desk.invoice(&open, on).await.unwrap_err();
        assert_eq!(refused, Refused::NotAccepted { number: quote.0.clone(), state: State::Open });
        let accepted = (quote.0.clone(), desk.accept(&quote.0, etag).await);
        let in_the_way = desk.invoice(&accepted, on).await.unwrap_err();
        let (number, invoice) = (quote.0.clone(), first.number.clone());
        assert_eq!(in_the_way, Refused::AlreadyInvoiced { number, invoice });
        desk.credit(&first.number, on).await.unwrap();
        assert_eq!(desk.invoice(&accepted, on).await.unwrap().billed.revision, 2);
        // The credit note is of the revision that was invoiced then.
        let note = store.invoice(&self::number("R-2026-00002"), &Sight::All).await.unwrap().unwrap();
        assert_eq!(note.billed.revision, 1);
    });
}

#[test]
fn an_invoiced_quote_is_reversed_and_its_invoice_credited_afterwards() {
    on_each(async |store| {
        let mut desk = Desk { store, asked: 0 };
        let quote = desk.accepted(&[]).await;
        let on = day(2026, 7, 20);
        let invoice = desk.invoice(&quote, on).await.unwrap();
        let mut opposite = content(day(2026, 7, 1), 50);
        opposite.reversal = true;
        let (of, etag) = quote.clone();
        let reverse = Command::Reverse {
            number: of,
            etag,
            content: Box::new(opposite),
            reason: text("wrong customer"),
        };
        let etag = desk.write(reverse).await.unwrap().event.hash;
        let note = desk.credit(&invoice.number, on).await.unwrap();
        assert_eq!((note.billed.quote, note.billed.revision), (quote.0.clone(), 1));
        let reversed = desk.invoice(&(quote.0.clone(), etag), on).await.unwrap_err();
        assert_eq!(reversed, Refused::NotAccepted { number: quote.0, state: State::Reversed });
    });
}

#[test]
fn days_go_with_the_numbers_of_a_series() {
    on_each(async |store| {
        let mut desk = Desk { store, asked: 0 };
        let (one, two) = (desk.accepted(&[]).await, desk.accepted(&[]).await);
        let early = desk.invoice(&one, day(2026, 7, 4)).await.unwrap_err();
        assert_eq!(early, Refused::BeforeAcceptance { number: one.0.clone(), accepted: day(2026, 7, 5) });
        let on = day(2026, 8, 1);
        let due = desk.invoice_in("R", (&one.0, &one.1), (on, day(2026, 7, 31))).await.unwrap_err();
        assert_eq!(due, Refused::DueBeforeIssue { issued: on });
        let first = desk.invoice(&one, on).await.unwrap();
        let before = desk.invoice(&two, day(2026, 7, 31)).await.unwrap_err();
        assert_eq!(before, Refused::OutOfOrder { last: first.number, issued: on });
        // Another series, and another year, count for themselves.
        let other = desk.invoice_in("GA", (&two.0, &two.1), (day(2026, 7, 31), on)).await.unwrap();
        assert_eq!(other.number.to_string(), "GA-2026-00001");
        let note = desk.credit(&other.number, day(2027, 1, 2)).await.unwrap();
        assert_eq!(note.number.to_string(), "GA-2027-00001");
    });
}

#[test]
fn a_series_is_of_quotes_or_of_invoices() {
    on_each(async |store| {
        let mut desk = Desk { store, asked: 0 };
        let on = day(2026, 7, 20);
        let of_quotes = |named| Refused::SeriesInUse { series: series(named), of: "quotes" };
        let of_invoices =
            |named| StoreError::from(Refused::SeriesInUse { series: series(named), of: "invoices" });
        let quoted_in =
            async |named: &str| store.write(issue(&format!("q-{named}"), named, content(on, 10))).await;
        // What is meant where none is named is taken before the first number: one quote in R would have every invoice
        // refused that names no series.
        assert_eq!(quoted_in("R").await.unwrap_err(), of_invoices("R"));
        let elsewhere = quoted_in("AB").await.unwrap();
        let number: Number = elsewhere.event.subject.parse().unwrap();
        let etag = desk.accept_on(&number, elsewhere.event.hash, on).await;
        assert_eq!(desk.invoice_in("Q", (&number, &etag), (on, on)).await.unwrap_err(), of_quotes("Q"));
        // Others are of the kind of their first number, in whichever year that was.
        let quote = desk.accepted(&[]).await;
        let next_year = day(2027, 1, 2);
        for named in ["Q", "AB"] {
            let refused =
                desk.invoice_in(named, (&quote.0, &quote.1), (next_year, next_year)).await.unwrap_err();
            assert_eq!(refused, of_quotes(named));
        }
        desk.invoice_in("GA", (&quote.0, &quote.1), (next_year, next_year)).await.unwrap();
        desk.invoice(&(number, etag), on).await.unwrap();
        for named in ["R", "GA"] {
            assert_eq!(quoted_in(named).await.unwrap_err(), of_invoices(named));
        }
    });
}

/// It was not refused always: what has begun so goes on.
#[test]
fn a_series_that_has_quotes_under_the_name_for_invoices_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("store.db");
    run(async {
        let store = Sqlite::open(&path).unwrap();
        store.write(issue("slip", "AB", content(day(2025, 7, 1), 10))).await.unwrap();
        store.close().await;
        let file = rusqlite::Connection::open(&path).unwrap();
        file.execute_batch(
            "DROP TRIGGER entries_stay; DROP TRIGGER events_stay; UPDATE entries SET series = 'R'; \
             UPDATE events SET subject = 'R-2025-00001'",
        )
        .unwrap();
        drop(file);
        let store = Sqlite::open(&path).unwrap();
        for year in [2025, 2026] {
            store.write(issue(&format!("q-{year}"), "R", content(day(year, 8, 1), 10))).await.unwrap();
        }
        let mut desk = Desk { store: &store, asked: 0 };
        let quote = desk.accepted(&[]).await;
        let refused = desk.invoice(&quote, day(2026, 7, 20)).await.unwrap_err();
        assert_eq!(refused, Refused::SeriesInUse { series: series("R"), of: "quotes" });
        store.close().await;
    });
}

#[test]
fn a_partner_sees_what_the_workshop_sold_to_him() {
    on_each(async |store| {
        let mut desk = Desk { store, asked: 0 };
        let on = day(2026, 7, 20);
        for partners in [&["NORD", "SUED"][..], &["SUED"], &[]] {
            let quote = desk.accepted(partners).await;
            desk.invoice(&quote, on).await.unwrap();
        }
        desk.credit(&number("R-2026-00001"), on).await.unwrap();
        let seen = async |partner: &str| desk.seen(&Sight::Partner(code(partner))).await;
        assert_eq!(seen("NORD").await, ["R-2026-00004", "R-2026-00001"]);
        // The second on a route buys from the first, and not from the workshop.
        assert_eq!(seen("SUED").await, ["R-2026-00002"]);
        assert!(seen("OST").await.is_empty());
        assert_eq!(desk.seen(&Sight::All).await.len(), 4);
        let foreign = store.invoice(&number("R-2026-00001"), &Sight::Partner(code("SUED"))).await.unwrap();
        assert_eq!(foreign, None);
    });
}

#[test]
fn numbers_have_no_gaps_whoever_asks_at_once() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("store.db");
        let one: Arc<dyn Store> = Arc::new(Sqlite::open(&path).unwrap());
        let two: Arc<dyn Store> = Arc::new(Sqlite::open(&path).unwrap());
        invoice_at_once([one, two]).await;
        let Some(cluster) = Cluster::shared() else { return };
        let url = schema(&cluster);
        let one: Arc<dyn Store> = Arc::new(Postgres::connect(&url).await.unwrap());
        let two: Arc<dyn Store> = Arc::new(Postgres::connect(&url).await.unwrap());
        invoice_at_once([one, two]).await;
    });
}

/// Through both stores, which are on one database; every third invoice is taken back at once.
async fn invoice_at_once(stores: [Arc<dyn Store>; 2]) {
    let mut quotes = Vec::new();
    let mut desk = Desk { store: stores[0].as_ref(), asked: 0 };
    for _ in 0..30 {
        quotes.push(desk.accepted(&[]).await);
    }
    let on = day(2026, 7, 20);
    let asked = quotes.into_iter().enumerate().map(|(at, quote)| {
        let store = Arc::clone(&stores[at % 2]);
        tokio::spawn(async move {
            let mut desk = Desk { store: store.as_ref(), asked: 1000 * (u32::try_from(at).unwrap() + 1) };
            let invoice = desk.invoice(&quote, on).await.unwrap();
            if at % 3 == 0 {
                desk.credit(&invoice.number, on).await.unwrap();
            }
        })
    });
    for asked in asked.collect::<Vec<_>>() {
        asked.await.unwrap();
    }
    let mut numbers = desk.seen(&Sight::All).await;
    numbers.reverse();
    let expected: Vec<_> = (1..=40).map(|place| format!("R-2026-{place:05}")).collect();
    assert_eq!(numbers, expected);
    audit(stores[1].as_ref(), None, |_| Ok(())).await.unwrap();
    for store in stores {
        store.close().await;
    }
}
