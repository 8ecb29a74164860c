//! Published standards and their checker, which stand beside the checkout and are no part of it.
//!
//! They are looked for in `EVENFARE_STANDARDS`, then in `../shared/standards`. Where they are not, a test
//! says so and holds nothing. Where they are and the checker's Python is not (`EVENFARE_PYTHON`, else
//! `python3`, with `lxml` and `saxonche`), it says so too, and under `CI` it fails.

use std::path::{Path, PathBuf};
use std::process::Command;

/// The folder of the standards, where there is one.
pub fn folder() -> Option<PathBuf> {
    let named = std::env::var_os("EVENFARE_STANDARDS").map(PathBuf::from);
    let beside = Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared/standards");
    [named, Some(beside)].into_iter().flatten().find(|folder| folder.join("check.py").is_file())
}

/// What checks files.
pub struct Checker {
    python: PathBuf,
    standards: PathBuf,
}

/// The checker, or why there is none.
pub fn checker() -> Result<Checker, String> {
    let Some(standards) = folder() else {
        let named = std::env::var_os("EVENFARE_STANDARDS");
        let said = std::env::var_os("CI").and(named);
        assert_eq!(said, None, "the folder of the standards that is named has no check.py");
        return Err("no folder with the standards (EVENFARE_STANDARDS)".to_owned());
    };
    let python = std::env::var_os("EVENFARE_PYTHON").map_or_else(|| "python3".into(), PathBuf::from);
    let tried = Command::new(&python).args(["-c", "import lxml.etree, saxonche"]).output();
    match tried {
        Ok(output) if output.status.success() => Ok(Checker { python, standards }),
        _ => {
            let why = format!("{} has no lxml and saxonche (EVENFARE_PYTHON)", python.display());
            assert!(std::env::var_os("CI").is_none(), "the standards are here, but {why}");
            Err(why)
        }
    }
}

impl Checker {
    /// Checks these files in one process; answers what is wrong with them.
    pub fn check(&self, files: &[PathBuf]) -> Result<(), String> {
        let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/standards/check.py");
        let output =
            Command::new(&self.python).arg(script).arg(&self.standards).args(files).output().unwrap();
        let told = String::from_utf8_lossy(&output.stdout);
        let passed = told.lines().filter(|line| line.ends_with(" ok")).count();
        if output.status.success() && passed == files.len() {
            return Ok(());
        }
        let failed: Vec<&str> = told.lines().filter(|line| !line.ends_with(" ok")).take(60).collect();
        Err(format!("{}\n{}", failed.join("\n"), String::from_utf8_lossy(&output.stderr)))
    }
}
