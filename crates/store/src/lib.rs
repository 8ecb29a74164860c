//! Quotes, invoices, tariff editions and callers, kept for ever.
//!
//! Whatever is written down is an [`Event`](event::Event) in one chain; nothing is changed or removed
//! afterwards. What became of a quote is read off the events of its number. Every event carries the
//! digest of the one before, so that a later change of anything shows in
//! [`audit`](audit::audit).
//!
//! A [`Store`] keeps it in SQLite or in PostgreSQL. The decisions (which number comes next, whether an
//! etag still holds, whether a request was answered before) are written once and run inside the
//! transaction that keeps the event.
//!
//! # Examples
//! ```
//! use evenfare_store::caller::{CredentialKind, Role};
//! use evenfare_store::command::{Command, Request};
//! use evenfare_store::digest::Digest;
//! use evenfare_store::{Store, sqlite::Sqlite};
//!
//! # let folder = tempfile::tempdir()?;
//! # let path = folder.path().join("quotes.db");
//! # tokio::runtime::Runtime::new()?.block_on(async {
//! let store = Sqlite::open(&path)?;
//! let command = Command::AddCaller {
//!     name: "front-desk".parse()?,
//!     role: Role::Office,
//!     kind: CredentialKind::Token,
//!     credential: Digest::of(b"a token of 256 random bits"),
//! };
//! let fingerprint = Digest::of(b"the whole request");
//! let request = Request { id: "r-1".parse()?, fingerprint, caller: "owner".parse()?, command };
//! let record = store.write(request.clone()).await?;
//! assert_eq!(record.event.sequence, 1);
//! // Asked twice, done once.
//! assert_eq!(store.write(request).await?, record);
//! let audited = evenfare_store::audit::audit(&store, None, |_| Ok(())).await?;
//! assert_eq!((audited.events, audited.callers), (1, 1));
//! store.close().await;
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! # })?;
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

// Reading order: each module uses only those above it.
pub mod digest;
pub mod number;
pub mod caller;
pub mod entry;
pub mod invoice;
pub mod event;
pub mod command;
pub mod refused;
pub mod clock;
mod store;
mod chain;
mod rules;
mod tables;
mod rows;
mod settings;
mod bills;
mod kept;
mod reads;
mod head;
mod ledger;
pub mod audit;
mod queue;
pub mod sqlite;
pub mod postgres;

pub use store::{Filter, InvoiceFilter, InvoiceListing, InvoicePage, Listing, Page, Sight, Store};
