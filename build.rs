//! Messages of the wire: `proto/` becomes Rust code, and a descriptor for whoever asks at run time.

use std::env;
use std::error::Error;
use std::path::{Path, PathBuf};
use std::{fs, io};

const ROOT: &str = "proto";
const DEMO: &str = "examples/bakery";

fn main() -> Result<(), Box<dyn Error>> {
    // A directory stands for every file below it.
    println!("cargo::rerun-if-changed={ROOT}");
    // The demo travels inside the program; a file added to it would go unnoticed otherwise.
    println!("cargo::rerun-if-changed={DEMO}");
    let out = PathBuf::from(env::var_os("OUT_DIR").ok_or("cargo names no OUT_DIR")?);

    let mut compiler = protox::Compiler::new([ROOT])?;
    compiler.include_imports(true).include_source_info(true);
    compiler.open_files(files(Path::new(ROOT).join("evenfare"))?)?;

    fs::write(out.join("evenfare.binpb"), compiler.encode_file_descriptor_set())?;
    // Without the server there are messages only.
    let serves = env::var_os("CARGO_FEATURE_SERVE").is_some();
    tonic_prost_build::configure()
        .build_server(serves)
        .build_client(serves)
        .include_file("wire.rs")
        .compile_fds(compiler.file_descriptor_set())?;
    Ok(())
}

/// Every proto file below a directory, in order, so that the same files give the same code.
fn files(below: PathBuf) -> io::Result<Vec<PathBuf>> {
    let (mut found, mut directories) = (Vec::new(), vec![below]);
    while let Some(directory) = directories.pop() {
        for entry in fs::read_dir(directory)? {
            let path = entry?.path();
            if path.is_dir() {
                directories.push(path);
            } else if path.extension().is_some_and(|ending| ending == "proto") {
                found.push(path);
            }
        }
    }
    found.sort();
    Ok(found)
}
