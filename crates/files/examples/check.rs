//! Reads a tariff folder and job files and says what is wrong with them, one line for each mistake.
//!
//! ```text
//! cargo run -p evenfare-files --example check -- examples/bakery/tariff examples/bakery/jobs/*
//! ```

use std::path::Path;
use std::process::ExitCode;

use evenfare_files::{read_job, read_tariff};

fn main() -> ExitCode {
    let mut paths = std::env::args_os().skip(1);
    let Some(tariff) = paths.next() else {
        eprintln!("name a tariff folder, and job files after it");
        return ExitCode::FAILURE;
    };
    let mut is_sound = true;
    match read_tariff(Path::new(&tariff)) {
        Ok(tariffs) => {
            for edition in tariffs.editions() {
                println!("edition {} is sound", edition.code());
            }
            if !tariffs.warnings().is_empty() {
                println!("{}", tariffs.warnings());
            }
        }
        Err(report) => {
            is_sound = false;
            println!("{report}");
        }
    }
    for path in paths {
        match read_job(Path::new(&path)) {
            Ok((job, source)) => println!("{}: job {} is sound", source.name(), job.reference),
            Err(report) => {
                is_sound = false;
                println!("{report}");
            }
        }
    }
    if is_sound { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
