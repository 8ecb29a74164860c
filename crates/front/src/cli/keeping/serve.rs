//! `evenfare serve`: the server, until it is asked to stop.

use std::io::{ErrorKind, IsTerminal, Write};
use std::net::SocketAddr;
use std::time::Duration;

use evenfare_files::disk_says;
use http::HeaderValue;
use metrics_exporter_prometheus::{Matcher, PrometheusBuilder};
use tracing_appender::non_blocking::{NonBlocking, WorkerGuard};

use super::place::{open, wait};
use crate::cli::args::Format;
use crate::cli::args::keeping::ServeArgs;
use crate::cli::outcome::{Answer, Failure};
use crate::serve::transport::{Bounds, Clients, Config, Security, TlsFiles};
use crate::serve::{NotStarted, describe_metrics, serve};

/// Upper bounds of the buckets that calls are counted in by their time, in seconds.
const SECONDS: [f64; 12] = [0.000_25, 0.000_5, 0.001, 0.002_5, 0.005, 0.01, 0.025, 0.05, 0.1, 0.5, 2.5, 10.0];

/// Serves until it is asked to stop by SIGTERM or SIGINT.
pub(in crate::cli) fn run(args: &ServeArgs) -> Result<Answer, Failure> {
    let config = config(args);
    let origins = args.allow_origin.iter().map(|origin| origin_of(origin)).collect::<Result<Vec<_>, _>>()?;
    let _log = log(args.log);
    wait(async {
        if let Some(address) = args.metrics {
            export_metrics(address, args.plain_text)?;
        }
        let stop = stop()?;
        let (store, note) = open(&args.place).await?;
        if !note.is_empty() {
            tracing::warn!(database = %args.place.database, "there was no store: a new one was made");
        }
        let callers = store.callers().await.map_err(super::place::failure)?;
        if callers.iter().flatten().all(|caller| caller.withdrawn.is_some()) {
            tracing::warn!("nobody may call yet: {}", super::caller::who_lets_somebody(&args.place));
        }
        let scheme = if args.certificate.is_some() { "https" } else { "http" };
        let listening = |address: SocketAddr| {
            tracing::info!(%address, database = %args.place.database, "listening");
            let mut out = std::io::stdout().lock();
            // For whoever started it; there may be nobody who reads it.
            let _ = writeln!(out, "listening on {scheme}://{address}").and_then(|()| out.flush());
        };
        let drained =
            serve(store, config, origins, args.floor_refusals, listening, stop).await.map_err(failure)?;
        let text = match drained.cut_off {
            0 => String::from("stopped; all calls were finished\n"),
            some => format!("stopped; {some} connection(s) had calls that were cut off\n"),
        };
        Ok(Answer::new("").with_note(text))
    })
}

fn config(args: &ServeArgs) -> Config {
    let security = match (&args.certificate, &args.key) {
        (Some(certificate), Some(key)) => Security::Tls(TlsFiles {
            certificate: certificate.clone(),
            key: key.clone(),
            clients: args
                .client_ca
                .clone()
                .map(|authorities| Clients { authorities, required: args.require_client_certificate }),
        }),
        _ => Security::PlainText { off_loopback: args.plain_text },
    };
    let bounds = Bounds {
        calls: usize::try_from(args.calls).unwrap_or(usize::MAX),
        connections: usize::try_from(args.connections).unwrap_or(usize::MAX),
        drain: Duration::from_secs(args.drain),
        ..Bounds::default()
    };
    Config { address: args.listen, security, bounds }
}

/// An origin as a browser sends it.
fn origin_of(text: &str) -> Result<HeaderValue, Failure> {
    let host = text.strip_prefix("https://").or_else(|| text.strip_prefix("http://"));
    let plain = host.is_some_and(|host| !host.is_empty() && !host.contains(['/', '*', ' ', ',']));
    let value = HeaderValue::from_str(text).ok().filter(|_| plain);
    value.ok_or_else(|| {
        let expected = "expected one such as https://portal.example, without a path";
        Failure::Usage(format!("`{text}` is not the origin of a web page; {expected}"))
    })
}

fn failure(error: NotStarted) -> Failure {
    use crate::serve::transport::StartError;
    let mut message = error.to_string();
    let mut source = std::error::Error::source(&error);
    while let Some(error) = source {
        let said = match error.downcast_ref::<std::io::Error>() {
            Some(error) if error.kind() == ErrorKind::AddrInUse => {
                String::from("another program listens there; --listen names another address")
            }
            Some(error) => disk_says(error),
            None => error.to_string(),
        };
        message.push_str(&format!(": {said}"));
        source = error.source();
    }
    match error {
        NotStarted::Listen(StartError::PlainText { .. }) => Failure::Usage(message),
        NotStarted::Listen(_) => Failure::File(message),
        NotStarted::Store(_) => Failure::Database(message),
        NotStarted::Description(_) => Failure::Internal(message),
    }
}

/// Lines that come within a moment are written together: to wake a thread and write for each took a tenth of a
/// busy server's time.
struct Gathered(std::io::BufWriter<std::io::Stderr>);

impl std::io::Write for Gathered {
    fn write(&mut self, line: &[u8]) -> std::io::Result<usize> {
        self.0.write(line)
    }

    /// Asked for when no line waits. While it sleeps nobody has to wake it.
    fn flush(&mut self) -> std::io::Result<()> {
        self.0.flush()?;
        std::thread::sleep(Duration::from_millis(10));
        Ok(())
    }
}

/// The log, on standard error. Its lines are written apart from the calls they are about, until the guard
/// is dropped.
fn log(format: Format) -> WorkerGuard {
    let out = Gathered(std::io::BufWriter::with_capacity(64 << 10, std::io::stderr()));
    let (writer, guard): (NonBlocking, WorkerGuard) = tracing_appender::non_blocking(out);
    let lines = tracing_subscriber::fmt().with_writer(writer).with_target(false);
    // Somebody who has a log already, a test say, keeps it.
    let _ = match format {
        Format::Json => tracing::subscriber::set_global_default(lines.json().flatten_event(true).finish()),
        Format::Text => {
            let colour = std::io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none();
            tracing::subscriber::set_global_default(lines.with_ansi(colour).finish())
        }
    };
    guard
}

/// A page of metrics on an address of its own.
fn export_metrics(address: SocketAddr, off_loopback: bool) -> Result<(), Failure> {
    if !off_loopback && !address.ip().to_canonical().is_loopback() {
        let message =
            format!("metrics on `{address}`, which is not loopback: ask for it by name (`--plain-text`)");
        return Err(Failure::Usage(message));
    }
    let failed = |error: metrics_exporter_prometheus::BuildError| {
        Failure::File(format!("no metrics on {address}: {error}"))
    };
    PrometheusBuilder::new()
        .with_http_listener(address)
        .set_buckets_for_metric(Matcher::Full(String::from("evenfare_call_seconds")), &SECONDS)
        .map_err(failed)?
        .install()
        .map_err(failed)?;
    describe_metrics();
    Ok(())
}

/// Ends when somebody asks the program to stop.
fn stop() -> Result<impl Future<Output = ()>, Failure> {
    use tokio::signal::unix::{SignalKind, signal};
    let listen = |kind| signal(kind).map_err(|error| Failure::Internal(format!("no signals: {error}")));
    let (mut terminate, mut interrupt) = (listen(SignalKind::terminate())?, listen(SignalKind::interrupt())?);
    Ok(async move {
        tokio::select! {
            _ = terminate.recv() => {}
            _ = interrupt.recv() => {}
        }
    })
}
