//! The readers of files: see the library.
#![no_main]

use evenfare_fuzz::drive::{begin, run};
use evenfare_fuzz::targets::TARGETS;

libfuzzer_sys::fuzz_target!(init: begin(&TARGETS), |bytes: &[u8]| run(bytes));
