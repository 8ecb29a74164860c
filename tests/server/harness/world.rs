//! A store with the tariff of the demo world and somebody of every role.

use std::path::Path;

use serde_json::Value as Json;
use tempfile::TempDir;

use super::process::{command, evenfare};

/// A store, and the tokens of those who may call.
pub struct World {
    pub dir: TempDir,
    pub database: String,
    pub office: String,
    pub accountant: String,
    /// On the routes of the demo world: sells to P-OLOM.
    pub brzeg: String,
    /// Buys from P-BRZEG.
    pub olom: String,
    /// On none of their routes.
    pub woergl: String,
}

impl World {
    /// In an SQLite file.
    pub fn new() -> Self {
        let dir = TempDir::new().unwrap();
        let database = dir.path().join("evenfare.db").to_str().unwrap().to_owned();
        Self::on(dir, database)
    }

    /// In any database.
    pub fn on(dir: TempDir, database: String) -> Self {
        let tariff = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/bakery/tariff");
        evenfare(&["tariff", "publish", tariff.to_str().unwrap(), "--database", &database]);
        let token = |name: &str, role: &str| token(&database, name, role);
        Self {
            office: token("front-desk", "office"),
            accountant: token("books", "accountant"),
            brzeg: token("portal-brzeg", "partner:P-BRZEG"),
            olom: token("portal-olom", "partner:P-OLOM"),
            woergl: token("portal-woergl", "partner:P-WOERGL"),
            dir,
            database,
        }
    }

    /// One more caller.
    pub fn token(&self, name: &str, role: &str) -> String {
        token(&self.database, name, role)
    }
}

/// Adds a caller; his token.
pub fn token(database: &str, name: &str, role: &str) -> String {
    let text = evenfare(&["caller", "add", name, "--role", role, "--database", database, "--format", "json"]);
    let json: Json = serde_json::from_str(&text).unwrap();
    json["token"].as_str().unwrap().to_owned()
}

/// Audits a store; what it found, as JSON, and whether it is whole.
pub fn audit(database: &str) -> (bool, Json) {
    let output = command().args(["audit", "--database", database, "--format", "json"]).output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    let json = serde_json::from_str(&text).unwrap_or_else(|error| {
        panic!("{error}: {text}\n{}", String::from_utf8_lossy(&output.stderr));
    });
    (output.status.success(), json)
}
