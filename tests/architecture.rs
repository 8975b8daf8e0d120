//! The arrows between rooms run down only: reads the `use` lines of `src/` and fails on one that runs up.

use std::path::{Path, PathBuf};

/// Floor of each room; a room uses only rooms on lower floors, and itself.
const FLOORS: [(&str, u32); 16] = [
    ("units", 0),
    ("clock", 0),
    ("science", 1),
    ("schedule", 1),
    ("kitchen", 2),
    ("process", 3),
    ("plan", 4),
    ("book", 4),
    ("sheets", 5),
    ("app", 6),
    ("tui", DOORS),
    ("remind", DOORS),
    ("publish", DOORS),
    ("cli", DOORS),
    ("main", 8),
    ("lib", 8),
];
/// The floor of the doors, which may use one another's parts: a command opens the screen.
const DOORS: u32 = 7;

fn floor(room: &str) -> Option<u32> {
    FLOORS.iter().find(|f| f.0 == room).map(|f| f.1)
}

fn files(dir: &Path, out: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(dir).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files(&path, out);
        } else if path.extension().is_some_and(|e| e == "rs") {
            out.push(path);
        }
    }
}

/// Rooms named by `crate::room` in code, comments left out.
fn rooms_used(text: &str) -> Vec<String> {
    let mut out = Vec::new();
    for line in text.lines().map(str::trim_start).filter(|l| !l.starts_with("//")) {
        for (at, _) in line.match_indices("crate::") {
            let rest = &line[at + "crate::".len()..];
            let name: String = rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
            if name.is_empty() {
                // `use crate::{a, b}`
                let inside = rest.trim_start_matches('{');
                out.extend(inside.split([',', '}']).map(|s| s.trim().split("::").next().unwrap_or("").to_owned()));
            } else {
                out.push(name);
            }
        }
    }
    out.retain(|r| floor(r).is_some());
    out
}

fn broken_arrows(root: &Path) -> Vec<String> {
    let mut all = Vec::new();
    files(root, &mut all);
    assert!(all.len() > 30, "found only {} source files", all.len());
    let mut broken = Vec::new();
    for path in all {
        let inside = path.strip_prefix(root).unwrap();
        let first = inside.components().next().unwrap().as_os_str().to_string_lossy();
        let room = first.trim_end_matches(".rs").to_owned();
        let here = floor(&room).unwrap_or_else(|| panic!("no floor is given for {}", inside.display()));
        let text = std::fs::read_to_string(&path).unwrap();
        for used in rooms_used(&text) {
            let doors = here == DOORS && floor(&used) == Some(DOORS);
            if used != room && !doors && floor(&used).unwrap() >= here {
                broken.push(format!("{} uses {used}", inside.display()));
            }
        }
    }
    broken
}

#[test]
fn arrows_run_down() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let broken = broken_arrows(&src);
    assert!(broken.is_empty(), "arrows that run up:\n{}", broken.join("\n"));
}

#[test]
fn an_arrow_that_runs_up_is_seen() {
    assert_eq!(rooms_used("use crate::plan::Plan;"), ["plan"]);
    assert_eq!(rooms_used("use crate::{units, app};"), ["units", "app"]);
    assert!(rooms_used("// use crate::plan::Plan;").is_empty());
}

#[test]
fn the_clock_is_read_in_one_place() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut all = Vec::new();
    files(&src, &mut all);
    for path in all {
        let text = std::fs::read_to_string(&path).unwrap();
        let asks = text.contains("Utc::now()") || text.contains("SystemTime::now()") || text.contains("Local::now()");
        assert!(!asks || path.ends_with("clock.rs"), "{} asks the time", path.display());
    }
}
