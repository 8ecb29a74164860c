//! A PostgreSQL of one's own: made in a folder, listening on a free port of loopback, gone when dropped.
//!
//! Uses nothing but the standard library and `tempfile`, so that tests of other crates can include it by its path.

use std::fs;
use std::io::Read as _;
use std::net::{Ipv4Addr, TcpListener};
use std::os::unix::fs::{PermissionsExt as _, chown};
use std::os::unix::process::CommandExt as _;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Arc, Mutex, PoisonError, Weak};
use std::time::{Duration, Instant};

/// A running cluster.
pub struct Cluster {
    programs: PathBuf,
    folder: tempfile::TempDir,
    owner: Option<(u32, u32)>,
    port: u16,
    server: Option<Child>,
    databases: AtomicU32,
}

impl Cluster {
    /// A cluster, where PostgreSQL is installed; otherwise says so, and fails where `CI` is set.
    pub fn start() -> Option<Self> {
        Self::start_with(&[])
    }

    /// A cluster with these files in its folder, each by its name and what it holds; `postgresql.auto.conf` has
    /// settings, `pg_hba.conf` says who may come.
    pub fn start_with(files: &[(&str, &str)]) -> Option<Self> {
        let Some(programs) = programs() else {
            assert!(
                std::env::var_os("CI").is_none(),
                "no initdb: install postgresql, CI must not go without"
            );
            eprintln!(
                "\n*** NOT RUN: tests on PostgreSQL, for there is no initdb. ***\n\
                 *** Debian and Ubuntu: apt-get install postgresql. Others: put its bin on PATH. ***\n"
            );
            return None;
        };
        let folder = tempfile::tempdir().unwrap();
        let owner = owner();
        if let Some((user, group)) = owner {
            chown(folder.path(), Some(user), Some(group)).unwrap();
        }
        let data = folder.path().join("data");
        let made = as_owner(&programs.join("initdb"), owner)
            .current_dir(folder.path())
            .arg("-D")
            .arg(&data)
            .args(["-U", "evenfare", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync"])
            .output()
            .unwrap();
        assert!(made.status.success(), "initdb: {}", String::from_utf8_lossy(&made.stderr));
        for (name, text) in files {
            let path = data.join(name);
            fs::write(&path, text).unwrap();
            fs::set_permissions(&path, fs::Permissions::from_mode(0o600)).unwrap();
            if let Some((user, group)) = owner {
                chown(&path, Some(user), Some(group)).unwrap();
            }
        }
        // Somebody else may take the port between the two calls.
        let databases = AtomicU32::new(0);
        let mut cluster = Self { programs, folder, owner, port: 0, server: None, databases };
        for _ in 0..5 {
            cluster.port = free_port();
            cluster.server = Some(serve(&cluster.programs, cluster.folder.path(), owner, cluster.port));
            if cluster.answers() {
                return Some(cluster);
            }
            let log = cluster.log();
            assert!(log.contains("could not bind"), "PostgreSQL did not start: {log}");
        }
        panic!("no free port for PostgreSQL");
    }

    /// One cluster for all tests that run at the same time; it stops with the last of them.
    pub fn shared() -> Option<Arc<Self>> {
        static SHARED: Mutex<Weak<Cluster>> = Mutex::new(Weak::new());
        let mut shared = SHARED.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(cluster) = shared.upgrade() {
            return Some(cluster);
        }
        let cluster = Arc::new(Self::start()?);
        *shared = Arc::downgrade(&cluster);
        Some(cluster)
    }

    /// The address of a new and empty database.
    pub fn database(&self) -> String {
        let name = format!("d{}", self.databases.fetch_add(1, Ordering::Relaxed));
        self.sql("postgres", &format!("CREATE DATABASE {name}"));
        self.url(&name)
    }

    /// The address of a database.
    pub fn url(&self, name: &str) -> String {
        format!("postgres://evenfare@127.0.0.1:{}/{name}", self.port)
    }

    /// The port on which it listens.
    pub fn port(&self) -> u16 {
        self.port
    }

    /// Ends the server and all its sessions at once, whatever they are doing, as a loss of power would.
    pub fn kill(&mut self) {
        let mut server = self.server.take().unwrap();
        let children = format!("/proc/{0}/task/{0}/children", server.id());
        let children = fs::read_to_string(children).unwrap_or_default();
        server.kill().unwrap();
        // Some have ended by themselves by now.
        let _ = Command::new("kill").arg("-KILL").args(children.split_whitespace()).output();
        server.wait().unwrap();
    }

    /// Starts it again after [`kill`](Self::kill).
    pub fn start_again(&mut self) {
        let until = Instant::now() + Duration::from_secs(30);
        while Instant::now() < until {
            self.server = Some(serve(&self.programs, self.folder.path(), self.owner, self.port));
            if self.answers() {
                return;
            }
            // Not before the last of the old processes is gone.
            std::thread::sleep(Duration::from_millis(50));
        }
        panic!("PostgreSQL did not start again: {}", self.log());
    }

    /// Runs statements as the owner of everything in a database, by its name or its URL; what they print.
    pub fn sql(&self, database: &str, sql: &str) -> String {
        let database = database.rsplit('/').next().unwrap();
        let done = Command::new(self.programs.join("psql"))
            .args(["-X", "-q", "-A", "-t", "-v", "ON_ERROR_STOP=1", "-c", sql, &self.url(database)])
            .output()
            .unwrap();
        assert!(done.status.success(), "{sql}: {}", String::from_utf8_lossy(&done.stderr));
        String::from_utf8(done.stdout).unwrap()
    }

    /// What the server has logged since it was started.
    pub fn log(&self) -> String {
        let mut log = String::new();
        let _ = fs::File::open(self.folder.path().join("log")).map(|mut file| file.read_to_string(&mut log));
        log
    }

    /// Waits until it takes connections; not when it has ended.
    fn answers(&mut self) -> bool {
        let until = Instant::now() + Duration::from_secs(30);
        while Instant::now() < until && self.runs() {
            let asked = Command::new(self.programs.join("pg_isready"))
                .args(["-q", "-h", "127.0.0.1", "-p", &self.port.to_string()])
                .status();
            if asked.unwrap().success() {
                return true;
            }
            std::thread::sleep(Duration::from_millis(30));
        }
        false
    }

    fn runs(&mut self) -> bool {
        self.server.as_mut().is_some_and(|server| server.try_wait().is_ok_and(|ended| ended.is_none()))
    }
}

impl Drop for Cluster {
    fn drop(&mut self) {
        if self.runs() {
            let _ = as_owner(&self.programs.join("pg_ctl"), self.owner)
                .current_dir(self.folder.path())
                .args(["stop", "-s", "-m", "immediate", "-D"])
                .arg(self.folder.path().join("data"))
                .status();
        }
        let _ = self.server.take().map(|mut server| server.wait());
    }
}

fn free_port() -> u16 {
    TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap().local_addr().unwrap().port()
}

fn serve(programs: &Path, folder: &Path, owner: Option<(u32, u32)>, port: u16) -> Child {
    let log = fs::File::create(folder.join("log")).unwrap();
    as_owner(&programs.join("postgres"), owner)
        .current_dir(folder)
        .arg("-D")
        .arg(folder.join("data"))
        .arg("-k")
        .arg(folder)
        .args(["-h", "127.0.0.1", "-p", &port.to_string(), "-c", "max_connections=60"])
        .stdout(Stdio::null())
        .stderr(log)
        .spawn()
        .unwrap()
}

/// Where `initdb` and the others are.
fn programs() -> Option<PathBuf> {
    let has = |folder: &PathBuf| folder.join("initdb").is_file() && folder.join("postgres").is_file();
    let path = std::env::var_os("PATH").unwrap_or_default();
    // A link on PATH may be to one program alone: the others stand beside what it leads to.
    let led_to = |folder: PathBuf| Some(folder.join("initdb").canonicalize().ok()?.parent()?.to_owned());
    if let Some(folder) = std::env::split_paths(&path).filter_map(led_to).find(has) {
        return Some(folder);
    }
    let mut versions: Vec<PathBuf> =
        ["/usr/lib/postgresql", "/usr/local/lib/postgresql", "/opt/homebrew/opt"]
            .iter()
            .filter_map(|folder| fs::read_dir(folder).ok())
            .flatten()
            .map(|version| version.unwrap().path().join("bin"))
            .filter(has)
            .collect();
    // The newest: by its number, not by its letters.
    versions.sort_by_key(|folder| {
        let name = folder.parent().and_then(|version| version.file_name()).unwrap().to_string_lossy();
        name.trim_start_matches("postgresql@").parse::<u32>().unwrap_or(0)
    });
    versions.pop()
}

/// PostgreSQL refuses to run as root: then it runs as the user it is installed with, or as nobody.
fn owner() -> Option<(u32, u32)> {
    let id = |args: &[&str]| -> Option<u32> {
        let said = Command::new("id").args(args).output().ok()?;
        String::from_utf8(said.stdout).ok()?.trim().parse().ok()
    };
    if id(&["-u"]) != Some(0) {
        return None;
    }
    ["postgres", "nobody"].iter().find_map(|user| Some((id(&["-u", user])?, id(&["-g", user])?)))
}

fn as_owner(program: &Path, owner: Option<(u32, u32)>) -> Command {
    let mut command = Command::new(program);
    if let Some((user, group)) = owner {
        command.uid(user).gid(group);
    }
    command
}
