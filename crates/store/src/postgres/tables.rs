//! Statements on a connection to PostgreSQL.

use std::error::Error;

use bytes::BytesMut;
use chrono::NaiveDate;
use deadpool_postgres::ClientWrapper;
use futures_util::future::join_all;
use tokio_postgres::error::SqlState;
use tokio_postgres::types::{IsNull, ToSql, Type, to_sql_checked};
use tokio_postgres::{Row as Answer, Statement};

use crate::refused::StoreError;
use crate::tables::{Ask, Cell, Fault, Row, Tables, Value};

/// How many statements are under way at once: as they are sent, so the database runs them.
const UNDER_WAY: usize = 16;

/// A connection, inside or outside a transaction.
pub(super) struct Connected<'a>(pub(super) &'a ClientWrapper);

impl Connected<'_> {
    /// All of them, without waiting for one before the next is sent.
    async fn all(&self, asks: &[Ask<'_>]) -> Result<Vec<Vec<Answer>>, tokio_postgres::Error> {
        let mut statements = Vec::with_capacity(asks.len());
        for ask in asks {
            statements.push(self.0.prepare_cached(&ask.sql).await?);
        }
        let mut answers = Vec::with_capacity(asks.len());
        for (asks, statements) in asks.chunks(UNDER_WAY).zip(statements.chunks(UNDER_WAY)) {
            let sent = asks.iter().zip(statements).map(|(ask, statement)| self.one(ask, statement));
            for answer in join_all(sent).await {
                answers.push(answer?);
            }
        }
        Ok(answers)
    }

    async fn one(&self, ask: &Ask<'_>, statement: &Statement) -> Result<Vec<Answer>, tokio_postgres::Error> {
        let values: Vec<&(dyn ToSql + Sync)> =
            ask.values.iter().map(|value| value as &(dyn ToSql + Sync)).collect();
        self.0.query(statement, &values).await
    }
}

impl Tables for Connected<'_> {
    async fn read(&self, asks: &[Ask<'_>]) -> Result<Vec<Vec<Row>>, Fault> {
        let answers = self.all(asks).await.map_err(|error| fault(&error))?;
        Ok(answers.into_iter().map(|rows| rows.iter().map(row_of).collect()).collect())
    }

    async fn keep(&self, asks: &[Ask<'_>]) -> Result<(), Fault> {
        let step = |sql| Ask::new(sql, Vec::new());
        let mut all = vec![step("SAVEPOINT request")];
        all.extend(asks.iter().cloned());
        all.push(step("RELEASE SAVEPOINT request"));
        let Err(error) = self.all(&all).await else { return Ok(()) };
        let fault = fault(&error);
        if matches!(fault, Fault::Whole { again: true, .. }) {
            return Err(fault);
        }
        let undo = [step("ROLLBACK TO SAVEPOINT request"), step("RELEASE SAVEPOINT request")];
        match self.all(&undo).await {
            Ok(_) => Err(Fault::Alone(StoreError::from(fault))),
            Err(_) => Err(fault),
        }
    }
}

impl ToSql for Value<'_> {
    fn to_sql(&self, ty: &Type, out: &mut BytesMut) -> Result<IsNull, Box<dyn Error + Sync + Send>> {
        match self {
            Value::Int(int) => int.to_sql(ty, out),
            Value::Flag(flag) => flag.to_sql(ty, out),
            Value::Text(text) => text.as_deref().to_sql(ty, out),
            Value::Day(day) => day.to_sql(ty, out),
            Value::Bytes(bytes) => bytes.as_deref().to_sql(ty, out),
        }
    }

    /// Which type a value has is seen when it is sent.
    fn accepts(_: &Type) -> bool {
        true
    }

    to_sql_checked!();
}

fn row_of(answer: &Answer) -> Row {
    let cells = answer.columns().iter().enumerate().map(|(at, column)| {
        let cell = match *column.type_() {
            Type::INT8 => answer.try_get::<_, Option<i64>>(at).map(|int| int.map(Cell::Int)),
            Type::BOOL => {
                answer.try_get::<_, Option<bool>>(at).map(|flag| flag.map(|is| Cell::Int(is.into())))
            }
            Type::DATE => answer.try_get::<_, Option<NaiveDate>>(at).map(|day| day.map(Cell::Day)),
            Type::BYTEA => answer.try_get::<_, Option<Vec<u8>>>(at).map(|bytes| bytes.map(Cell::Bytes)),
            _ => answer.try_get::<_, Option<String>>(at).map(|text| text.map(Cell::Text)),
        };
        // Days that only the database knows, such as `infinity`.
        cell.map_or_else(|error| Cell::Garbled(format!("read: {error}")), |cell| cell.unwrap_or(Cell::Null))
    });
    Row(cells.collect::<Vec<_>>().into_iter())
}

pub(super) fn fault(error: &tokio_postgres::Error) -> Fault {
    Fault::Whole { error: unavailable(error), again: is_worth_another_try(error) }
}

fn is_worth_another_try(error: &tokio_postgres::Error) -> bool {
    // Without a word from the database the connection is broken.
    let Some(state) = error.code() else { return error.is_closed() || error.source().is_some() };
    let passing = [
        SqlState::T_R_SERIALIZATION_FAILURE,
        SqlState::T_R_DEADLOCK_DETECTED,
        // Another server has taken the number: with the lock it cannot, but nothing depends on that.
        SqlState::UNIQUE_VIOLATION,
        SqlState::LOCK_NOT_AVAILABLE,
        SqlState::ADMIN_SHUTDOWN,
        SqlState::CRASH_SHUTDOWN,
        SqlState::CANNOT_CONNECT_NOW,
        SqlState::TOO_MANY_CONNECTIONS,
        SqlState::IDLE_IN_TRANSACTION_SESSION_TIMEOUT,
    ];
    passing.contains(state) || state.code().starts_with("08")
}

/// The database's own words.
pub(super) fn unavailable(error: &tokio_postgres::Error) -> StoreError {
    let text = error.as_db_error().map_or_else(
        || error.source().map_or_else(|| error.to_string(), |source| format!("{error}: {source}")),
        |said| format!("{} ({})", said.message(), said.code().code()),
    );
    StoreError::Unavailable(text)
}
