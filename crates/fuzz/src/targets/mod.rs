//! Readers of files.

mod tariff;
pub mod job;
mod lists;
mod invoice;
mod statement;
mod book;

use crate::drive::Target;

/// All of them.
pub const TARGETS: [Target; 6] = [
    Target { name: "tariff", seeds: tariff::seeds, run: tariff::run, reads_by_others: false },
    Target { name: "job", seeds: job::seeds, run: job::run, reads_by_others: false },
    Target { name: "lists", seeds: lists::seeds, run: lists::run, reads_by_others: false },
    Target { name: "invoice", seeds: invoice::seeds, run: invoice::run, reads_by_others: false },
    Target { name: "statement", seeds: statement::seeds, run: statement::run, reads_by_others: false },
    Target { name: "book", seeds: book::seeds, run: book::run, reads_by_others: true },
];
