//! The `evenfare` command.

use std::process::ExitCode;

#[cfg(feature = "serve")]
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    evenfare::cli::run(std::env::args_os())
}
