//! Messages of the wire: `proto/` becomes Rust code, and a descriptor for whoever asks at run time.

use std::env;
use std::error::Error;
use std::path::{Path, PathBuf};
use std::{fs, io};

use protox::prost_reflect::{Kind, MessageDescriptor};

const ROOT: &str = "proto";
const DEMO: &str = "examples/bakery";
const QUOTE: &str = "evenfare.v1.Quote";

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
        .build_server(false)
        .build_client(serves)
        .include_file("wire.rs")
        .compile_fds(compiler.file_descriptor_set())?;
    if serves {
        answers(&compiler, &out.join("answer"))?;
    }
    Ok(())
}

/// The services, and those of their messages that carry a quote, with the quote as it was written.
fn answers(compiler: &protox::Compiler, out: &Path) -> Result<(), Box<dyn Error>> {
    fs::create_dir_all(out)?;
    let mut answers = tonic_prost_build::configure()
        .build_client(false)
        .codec_path("crate::wire::codec::Wire")
        .out_dir(out)
        .include_file("wire.rs")
        .extern_path(format!(".{QUOTE}"), "crate::wire::WrittenQuote");
    for file in compiler.descriptor_pool().files().filter(|file| file.package_name() != "google.protobuf") {
        let messages =
            file.messages().filter(|message| message.full_name() != QUOTE && !carries_quote(message));
        let names = messages.map(|message| message.full_name().to_owned());
        for name in names.chain(file.enums().map(|named| named.full_name().to_owned())) {
            let last = name.rsplit('.').next().unwrap_or_default();
            answers = answers.extern_path(format!(".{name}"), format!("crate::wire::pb::{last}"));
        }
    }
    Ok(answers.compile_fds(compiler.file_descriptor_set())?)
}

/// Does it carry a quote, however deep? No message holds itself.
fn carries_quote(message: &MessageDescriptor) -> bool {
    message.fields().any(|field| match field.kind() {
        Kind::Message(within) => within.full_name() == QUOTE || carries_quote(&within),
        _ => false,
    })
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
