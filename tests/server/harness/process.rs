//! The program itself.

use std::io::{BufRead, BufReader, Read};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

/// How much of a log is kept for a test to look at.
const KEPT_OF_A_LOG: usize = 1 << 20;

/// The program, with no settings of whoever runs the tests.
pub fn command() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_evenfare"));
    command.env_remove("EVENFARE_DATABASE").env("NO_COLOR", "1");
    command
}

/// Runs one command to its end and gives what it printed.
pub fn evenfare(args: &[&str]) -> String {
    let output = command().args(args).output().unwrap();
    let (out, err) =
        (String::from_utf8(output.stdout).unwrap(), String::from_utf8_lossy(&output.stderr).into_owned());
    assert!(output.status.success(), "evenfare {args:?} ended with {}:\n{out}{err}", output.status);
    out
}

/// A running server; killed when it is dropped.
pub struct Server {
    child: Child,
    /// Where it listens: `http://127.0.0.1:40000`.
    pub url: String,
    log: Arc<Mutex<String>>,
}

impl Server {
    /// Starts one on a free port and waits until it listens.
    pub fn start(database: &str, more: &[&str]) -> Self {
        Self::start_by(command(), database, more)
    }

    /// The same by a command of one's own, which ends in the program.
    pub fn start_by(command: Command, database: &str, more: &[&str]) -> Self {
        Self::try_start_by(command, database, more)
            .unwrap_or_else(|why| panic!("the server did not start: {why}"))
    }

    /// The same; why it did not start.
    pub fn try_start_by(mut command: Command, database: &str, more: &[&str]) -> Result<Self, String> {
        command.args(["serve", "--database", database]);
        if !more.contains(&"--listen") {
            command.args(["--listen", "127.0.0.1:0"]);
        }
        let mut child = command.args(more).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let mut line = String::new();
        let mut out = BufReader::new(child.stdout.take().unwrap());
        out.read_line(&mut line).unwrap();
        let Some(url) = line.trim_end().strip_prefix("listening on ") else {
            let mut err = String::new();
            child.stderr.take().unwrap().read_to_string(&mut err).unwrap();
            child.wait().unwrap();
            return Err(format!("{line}{err}"));
        };
        let url = url.to_owned();
        // Its log is read, so that it never waits for somebody to read it.
        let (log, lines) = (Arc::default(), child.stderr.take().unwrap());
        let kept: Arc<Mutex<String>> = Arc::clone(&log);
        std::thread::spawn(move || {
            for line in BufReader::new(lines).lines().map_while(Result::ok) {
                if std::env::var_os("EVENFARE_TEST_LOG").is_some() {
                    eprintln!("{line}");
                }
                let mut kept = kept.lock().unwrap();
                if kept.len() < KEPT_OF_A_LOG {
                    kept.push_str(&line);
                    kept.push('\n');
                }
            }
        });
        std::thread::spawn(move || std::io::copy(&mut out, &mut std::io::sink()));
        Ok(Self { child, url, log })
    }

    /// What it has logged so far.
    pub fn log(&self) -> String {
        self.log.lock().unwrap().clone()
    }

    /// The memory it takes, in MiB.
    #[cfg(target_os = "linux")]
    pub fn resident_mib(&self) -> usize {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.child.id())).unwrap();
        let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:")).unwrap();
        line.trim().strip_suffix(" kB").unwrap().parse::<usize>().unwrap() / 1_024
    }

    /// How many threads it has.
    #[cfg(target_os = "linux")]
    pub fn threads(&self) -> usize {
        std::fs::read_dir(format!("/proc/{}/task", self.child.id())).unwrap().count()
    }

    /// The id of its process.
    pub fn id(&self) -> u32 {
        self.child.id()
    }

    /// Ends it as a power cut ends a process.
    pub fn kill(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }

    /// Asks it to stop.
    pub fn terminate(&self) {
        let status = Command::new("kill").args(["-TERM", &self.child.id().to_string()]).status().unwrap();
        assert!(status.success());
    }

    /// Waits until it has ended.
    pub fn wait(mut self) -> ExitStatus {
        let begin = Instant::now();
        loop {
            if let Some(status) = self.child.try_wait().unwrap() {
                return status;
            }
            assert!(begin.elapsed() < Duration::from_secs(60), "the server does not end");
            std::thread::sleep(Duration::from_millis(10));
        }
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
