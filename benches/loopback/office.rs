//! A server with the demo world's tariff, and an office that may call it.

use std::path::{Path, PathBuf};

use crate::load::Side;
use crate::process::{Server, evenfare};

/// A server of its own, whoever asks it, and where it keeps what.
pub struct Office {
    pub server: Server,
    pub side: Side,
    pub database: String,
    pub tariff: PathBuf,
    /// A job of twenty lines.
    pub job: PathBuf,
}

impl Office {
    /// Begins to serve from an empty store in that folder.
    pub fn open(dir: &Path) -> Self {
        let database = dir.join("evenfare.db").to_str().unwrap().to_owned();
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        let tariff = root.join("examples/bakery/tariff");
        evenfare(&["tariff", "publish", tariff.to_str().unwrap(), "--database", &database]);
        let caller =
            ["caller", "add", "bench", "--role", "office", "--database", &database, "--format", "json"];
        let caller: serde_json::Value = serde_json::from_str(&evenfare(&caller)).unwrap();
        let server = Server::start(&database, &[]);
        let side = Side { url: server.url.clone(), token: caller["token"].as_str().unwrap().to_owned() };
        Self { server, side, database, tariff, job: root.join("benches/loopback/twenty-lines.toml") }
    }
}
