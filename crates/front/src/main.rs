//! The `evenfare` command.

use std::process::ExitCode;

fn main() -> ExitCode {
    evenfare::cli::run(std::env::args_os())
}
