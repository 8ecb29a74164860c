//! Folders and files on disk.
#![allow(clippy::unwrap_used)]

mod workshop;

use std::fs;
use std::path::{Path, PathBuf};

use evenfare_files::{Report, read_job, read_tariff};
use workshop::{EDITION, JOB};

/// A folder of its own for a test, gone afterwards.
struct Scratch(PathBuf);

impl Scratch {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("evenfare-files-{name}-{}", std::process::id()));
        fs::create_dir_all(&path).unwrap();
        Self(path)
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

fn write_edition(dir: &Path) {
    fs::create_dir_all(dir).unwrap();
    for (name, text) in EDITION {
        fs::write(dir.join(name), text).unwrap();
    }
}

#[test]
fn a_folder_on_disk_is_read() {
    let scratch = Scratch::new("sound");
    write_edition(&scratch.0.join("July"));
    fs::create_dir_all(scratch.0.join(".hidden")).unwrap();
    fs::create_dir_all(scratch.0.join("drafts")).unwrap();
    fs::write(scratch.0.join("July/notes.md"), "no table").unwrap();
    fs::write(scratch.0.join("July/Letterhead.toml"), "language = \"de\"").unwrap();
    let tariffs = read_tariff(&scratch.0).unwrap();
    let warnings: Vec<_> = tariffs.warnings().iter().map(|warning| warning.code()).collect();
    assert_eq!(warnings, ["unused_file", "unused_folder"]);
    assert_eq!(tariffs.warnings().editions(), 1);
    // The folder of one edition is a tariff as well.
    assert_eq!(read_tariff(&scratch.0.join("July")).unwrap().editions().len(), 1);
}

#[test]
fn what_cannot_be_read_is_reported_beside_the_rest() {
    let scratch = Scratch::new("broken");
    write_edition(&scratch.0.join("a"));
    fs::write(scratch.0.join("a/grades.csv"), "code,text,rate_per_hour\nbench,Bench,x\nfitter,Fitter,1\n")
        .unwrap();
    fs::remove_file(scratch.0.join("a/tests.csv")).unwrap();
    fs::create_dir(scratch.0.join("a/tests.csv")).unwrap();
    #[cfg(unix)]
    std::os::unix::fs::symlink("nowhere", scratch.0.join("a/Old.csv")).unwrap();
    let report = read_tariff(&scratch.0).unwrap_err();
    let codes: Vec<_> = report.iter().map(|mistake| mistake.code()).collect();
    #[cfg(unix)]
    assert_eq!(codes, ["unreadable", "unused_file", "not_a_number", "missing_file", "held_back"], "{report}");
    assert_eq!((report.has_unreadable(), report.editions()), (cfg!(unix), 1));
    let why = |report: Report| {
        assert!(report.has_unreadable());
        report.iter().map(|mistake| format!("{mistake}")).collect::<Vec<_>>().join("; ")
    };
    let nowhere = read_tariff(&scratch.0.join("nowhere")).unwrap_err();
    assert_eq!(nowhere.editions(), 0);
    assert_eq!(why(nowhere), "cannot be read: there is no such file or folder");
    let file = read_tariff(&scratch.0.join("a/zones.csv")).unwrap_err();
    assert_eq!(why(file), "cannot be read: it is a file; a tariff is the folder that its files lie in");
    let folder = read_job(&scratch.0).unwrap_err();
    assert_eq!(why(folder), "cannot be read: it is a folder, not a file");
    // An edition without a table can be read; it has a mistake.
    #[cfg(unix)]
    fs::remove_file(scratch.0.join("a/Old.csv")).unwrap();
    let report = read_tariff(&scratch.0).unwrap_err();
    assert!(report.has_errors() && !report.has_unreadable());
}

#[test]
fn a_job_on_disk_is_read() {
    let scratch = Scratch::new("job");
    let path = scratch.0.join("j.toml");
    fs::write(&path, JOB).unwrap();
    assert_eq!(read_job(&path).unwrap().0.reference.as_str(), "J-1");
    fs::write(&path, vec![b'#'; 1024 * 1024 + 1]).unwrap();
    assert_eq!(read_job(&path).unwrap_err().iter().next().unwrap().code(), "file_too_large");
    assert_eq!(read_job(&scratch.0).unwrap_err().iter().next().unwrap().code(), "unreadable");
}
