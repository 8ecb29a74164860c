//! Connections that only read, a few of them.

use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};

use rusqlite::Connection;
use tokio::sync::Semaphore;

use super::connection;
use super::tables::Open;
use crate::refused::StoreError;
use crate::tables::Fault;

/// So many read at the same time.
const READERS: usize = 4;

pub(super) struct Readers {
    path: Arc<PathBuf>,
    idle: Arc<Mutex<Vec<Connection>>>,
    permits: Semaphore,
}

impl Readers {
    pub(super) fn new(path: PathBuf) -> Self {
        Self { path: Arc::new(path), idle: Arc::default(), permits: Semaphore::new(READERS) }
    }

    /// Reads on a thread that may wait for the disk.
    pub(super) async fn read<T: Send + 'static>(
        &self,
        question: impl FnOnce(&Open<'_>) -> Result<T, Fault> + Send + 'static,
    ) -> Result<T, StoreError> {
        let _permit = self.permits.acquire().await.map_err(|_| StoreError::Closed)?;
        let (path, idle) = (Arc::clone(&self.path), Arc::clone(&self.idle));
        let reading = tokio::task::spawn_blocking(move || {
            let taken = idle.lock().unwrap_or_else(PoisonError::into_inner).pop();
            let connection = taken.map_or_else(|| connection::to_read(&path), Ok)?;
            let answer = question(&Open(&connection));
            // One that has failed is not used again.
            if !matches!(answer, Err(Fault::Whole { .. })) {
                idle.lock().unwrap_or_else(PoisonError::into_inner).push(connection);
            }
            answer.map_err(StoreError::from)
        });
        reading.await.unwrap_or_else(|error| Err(StoreError::Unavailable(error.to_string())))
    }

    pub(super) fn close(&self) {
        self.permits.close();
        self.idle.lock().unwrap_or_else(PoisonError::into_inner).clear();
    }
}
