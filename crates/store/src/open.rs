//! Which database?

use std::sync::Arc;

use crate::postgres::Postgres;
use crate::refused::StoreError;
use crate::sqlite::Sqlite;
use crate::store::Store;

/// Opens the store that a text names: `postgres://...` or `postgresql://...` is a database of PostgreSQL,
/// anything else a file of SQLite.
///
/// # Errors
/// As [`Postgres::connect`] and [`Sqlite::open`].
pub async fn open(target: &str) -> Result<Arc<dyn Store>, StoreError> {
    if target.starts_with("postgres://") || target.starts_with("postgresql://") {
        Ok(Arc::new(Postgres::connect(target).await?))
    } else {
        Ok(Arc::new(Sqlite::open(target)?))
    }
}
