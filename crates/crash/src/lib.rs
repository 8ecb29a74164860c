//! What a power cut may leave of the SQLite store, opened and audited, state by state.
//!
//! SQLite runs on a disk in memory ([`disk`]) that writes down every write, truncation, flush, and every name that
//! comes and goes, and between them each answer of the store. A story ([`story`]) is told once, by the store as it is;
//! then the power is cut at places of it ([`cuts`]), many times at each, and what is left is opened by the store and
//! held against what it had answered ([`audit`]): every event that somebody was told of is there, with what was kept
//! along with it; what is there beyond them is whole; the chain and the file are sound; what is asked next gets the
//! next number. From some of these states the power is cut once more while the store comes back, and at some places
//! the process alone is killed, started again, and then the power goes.
//!
//! # What a disk does
//! After what SQLite's documentation says that it relies on ("Atomic Commit In SQLite", "Write-Ahead Logging",
//! "Powersafe Overwrite"), and a little worse:
//!
//! - What was flushed is there. Flushing is believed: a disk that lies about it is a control here, which has to fail.
//! - Of what was written into a file since, any part may be there, in any order, of every file by itself.
//! - A write may be torn at the bounds of sectors of 512 or 4096 bytes: some sectors are reached, the others hold what
//!   they held, zeros or garbage. A file may have become longer without its bytes.
//! - Bytes beside a write stay as they are, as the code for Unix promises SQLite.
//! - A name that was given or taken away may not have reached the folder before the folder is flushed, each name by
//!   itself; SQLite flushes it where its code for Unix does. A file that was flushed and has no name is lost.
//! - Shared memory and locks are gone.
//!
//! Not modelled: sectors that decay or are written elsewhere than asked for, flushes that fail (the store's own tests
//! have those), a file that is lost with a flushed name, other processes, backups (they go past SQLite for renaming),
//! and PostgreSQL.

// Reading order: each module uses only those above it.
pub mod op;
pub mod disk;
pub mod vfs;
pub mod story;
pub mod cuts;
pub mod audit;
pub mod trial;
