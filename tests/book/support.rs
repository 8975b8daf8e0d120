//! A book in a folder of its own.

use chrono::{DateTime, TimeDelta, Utc};
use std::path::{Path, PathBuf};
use turnday::book::{Act, Book, PlanLine, RawPlan, Recorded, TaskAct};
use turnday::process::Kind;

pub fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// The kitchen of two joints, J1 and J2, in one box.
pub fn kitchen() -> String {
    std::fs::read_to_string(root().join("tests/kitchen/good/small.json")).unwrap()
}

pub fn t(text: &str) -> DateTime<Utc> {
    DateTime::parse_from_rfc3339(&format!("{}:00Z", text.replace(' ', "T"))).unwrap().to_utc()
}

pub fn now() -> DateTime<Utc> {
    t("2026-12-05 12:00")
}

pub fn line(id: &str, start: &str) -> PlanLine {
    let start = t(start);
    PlanLine {
        id: id.to_owned(),
        kind: if id.starts_with("turn") { Kind::Turn } else { Kind::Rinse },
        says: format!("Do {id}"),
        joints: vec!["J1".to_owned(), "J2".to_owned()],
        things: vec!["BOX".to_owned()],
        start,
        end: start + TimeDelta::minutes(10),
        hands_minutes: 10,
        who: None,
    }
}

pub fn plan(lines: &[PlanLine]) -> Act {
    Act::PlanAccepted {
        plan: RawPlan::new("{\"tasks\": []}").unwrap(),
        lines: lines.to_vec(),
        says: "the first plan".to_owned(),
        moved: 0,
    }
}

pub fn turned(id: &str, when: &str) -> Act {
    Act::Task { id: id.to_owned(), what: TaskAct::Finished, when: t(when) }
}

pub fn weighed(joint: &str, grams: f64) -> Act {
    Act::Weighed { joint: joint.to_owned(), grams, when: now() }
}

pub fn note(text: &str) -> Act {
    Act::Note { about: String::new(), text: text.to_owned(), when: now() }
}

pub struct Shelf {
    folder: tempfile::TempDir,
}

impl Shelf {
    pub fn new() -> Self {
        Self { folder: tempfile::tempdir().unwrap() }
    }

    pub fn path(&self) -> PathBuf {
        self.folder.path().join("book")
    }

    /// A book with a kitchen and a plan of three turns and a lift.
    pub fn book(&self) -> Book {
        let mut book = Book::create(&self.path(), &kitchen(), "R", now()).unwrap();
        let lines = [
            line("turn BOX 1", "2026-12-04 19:00"),
            line("turn BOX 2", "2026-12-07 19:00"),
            line("turn BOX 3", "2026-12-10 19:00"),
            line("lift J2", "2026-12-19 19:00"),
        ];
        book.record(plan(&lines), "", now()).unwrap();
        book
    }
}

pub fn journal(folder: &Path) -> Vec<u8> {
    std::fs::read(folder.join("journal")).unwrap()
}

#[track_caller]
pub fn done(r: turnday::book::Result<Recorded>) -> u64 {
    let r = r.unwrap();
    assert!(!r.already, "line {} has it already", r.seq);
    r.seq
}

#[track_caller]
pub fn already(r: turnday::book::Result<Recorded>) -> u64 {
    let r = r.unwrap();
    assert!(r.already, "recorded anew on line {}", r.seq);
    r.seq
}

#[track_caller]
pub fn refused(r: turnday::book::Result<Recorded>) -> turnday::book::Refused {
    match r {
        Err(turnday::book::Error::Refused(r)) => r,
        other => panic!("{other:?}"),
    }
}

/// The smallest kitchen there is.
pub fn least_kitchen() -> String {
    let text = std::fs::read_to_string(root().join("tests/kitchen/good/minimal.json")).unwrap();
    let value: serde_json::Value = serde_json::from_str(&text).unwrap();
    value.to_string()
}

/// A folder in memory where there is one: thousands of books are made in it.
pub fn quick_folder() -> tempfile::TempDir {
    let memory = Path::new("/dev/shm");
    if memory.is_dir() { tempfile::tempdir_in(memory).or_else(|_| tempfile::tempdir()) } else { tempfile::tempdir() }
        .unwrap()
}

/// A number from the environment: how much of a long test to do.
pub fn amount(name: &str, usual: u64) -> u64 {
    std::env::var(name).ok().and_then(|v| v.parse().ok()).unwrap_or(usual)
}

/// Numbers that look random, the same for a seed.
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(seed ^ 0x9e37_79b9_7f4a_7c15)
    }

    /// xorshift64*, Marsaglia 2003 and Vigna 2016.
    pub fn roll(&mut self, below: usize) -> usize {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_f491_4f6c_dd1d) >> 33) as usize % below.max(1)
    }
}
