//! Kitchen files: good ones, bad ones with the words they are answered with, the schema, the starter, the document.

mod document;
mod files;
mod fuzz;
mod schema;
mod spoken;
mod starter;

use chrono::NaiveDate;
use std::path::PathBuf;

/// The day on which all test files are read.
fn today() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 11, 25).unwrap()
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// The `.json` files of a folder in the package, by name.
fn json_files(folder: &str) -> Vec<(String, String)> {
    let mut out: Vec<(String, String)> = std::fs::read_dir(root().join(folder))
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.extension().is_some_and(|e| e == "json"))
        .map(|p| (p.file_name().unwrap().to_string_lossy().into_owned(), std::fs::read_to_string(&p).unwrap()))
        .collect();
    out.sort();
    out
}

/// Compares with a file that is kept beside the tests; `TURNDAY_BLESS=1` writes it anew.
fn compare_or_bless(path: &std::path::Path, now: &str) {
    if std::env::var_os("TURNDAY_BLESS").is_some() {
        std::fs::write(path, now).unwrap();
        return;
    }
    let kept = std::fs::read_to_string(path).unwrap_or_default();
    assert!(
        kept == now,
        "{} is not what is written now; look at the difference, and bless it with TURNDAY_BLESS=1\n--- now\n{now}",
        path.display()
    );
}
