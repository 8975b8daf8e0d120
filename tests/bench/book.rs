//! The book: an act logged durably, and a long book opened.

use chrono::{DateTime, TimeDelta, Utc};
use divan::Bencher;
use turnday::book::journal::frame;
use turnday::book::{Act, Book, Event, PlanLine, RawPlan, ReadingOf, TaskAct};
use turnday::process::Kind;

fn main() {
    divan::main();
}

fn begun() -> DateTime<Utc> {
    DateTime::from_timestamp(1_780_000_000, 0).unwrap()
}

const KITCHEN: &str = include_str!("../kitchen/good/small.json");

fn note(n: u64) -> Act {
    Act::Note { about: "BOX".into(), text: format!("froth skimmed, visit {n}"), when: begun() }
}

/// What a kitchen's record is made of: tasks, readings, notes, nudges, weighings, and now and then a plan.
fn long_book(events: u64) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    Book::create(folder.path(), KITCHEN, "R", begun()).unwrap();
    let mut bytes = std::fs::read(folder.path().join("journal")).unwrap();
    for seq in 2..=events {
        let at = begun() + TimeDelta::minutes(seq as i64);
        let task = format!("turn BOX {}", seq / 10);
        let act = match seq % 10 {
            _ if seq % 5000 == 2 => {
                let line = |n: u64| PlanLine {
                    id: format!("turn BOX {n}"),
                    kind: Kind::Turn,
                    says: "Turn BOX (J1 and J2): move the meat, stir, skim, smell, note the fridge".into(),
                    joints: vec!["J1".into(), "J2".into()],
                    things: vec!["BOX".into()],
                    start: at,
                    end: at,
                    hands_minutes: 10,
                    who: None,
                };
                let lines = (0..60).map(line).collect();
                Act::PlanAccepted {
                    plan: RawPlan::new("{\"tasks\":[]}").unwrap(),
                    lines,
                    says: "again".into(),
                    moved: 3,
                }
            }
            0..=2 => Act::Task { id: task, what: TaskAct::Finished, when: at },
            3..=5 => Act::Reading { of: ReadingOf::Space { name: "Fridge, top".into() }, celsius: 4.5, when: at },
            6 | 7 => Act::Nudged { task, key: "due".into(), when: at },
            8 => Act::Weighed { joint: "J1".into(), grams: 3000.0 + (seq % 100) as f64, when: at },
            _ => note(seq),
        };
        let event = Event { seq, at, by: "S".into(), act };
        bytes.extend(frame(&serde_json::to_string(&event).unwrap()));
    }
    std::fs::write(folder.path().join("journal"), bytes).unwrap();
    folder
}

/// In a young book, and in one of many years.
#[divan::bench(args = [10, 100_000], sample_count = 200)]
fn act_logged_durably(bencher: Bencher, events: u64) {
    let folder = long_book(events);
    let mut book = Book::open(folder.path(), begun()).unwrap();
    let mut n = 0;
    bencher.bench_local(|| {
        n += 1;
        book.record(note(n), "S", begun()).unwrap()
    });
}

#[divan::bench(args = [1_000, 100_000], sample_count = 20)]
fn open_with_its_snapshot(bencher: Bencher, events: u64) {
    let folder = long_book(events);
    // The first act in a book without a snapshot keeps one.
    Book::open(folder.path(), begun()).unwrap().record(note(0), "S", begun()).unwrap();
    assert!(folder.path().join("snapshot.json").is_file());
    bencher.bench(|| Book::open(folder.path(), begun()).unwrap());
}

/// As after a snapshot was lost: everything is read from the journal.
#[divan::bench(args = [1_000, 100_000], sample_count = 20)]
fn open_from_the_journal_alone(bencher: Bencher, events: u64) {
    let folder = long_book(events);
    bencher.bench(|| Book::open(folder.path(), begun()).unwrap());
}

#[divan::bench(args = [100_000], sample_count = 20)]
fn nothing_new_to_follow(bencher: Bencher, events: u64) {
    let folder = long_book(events);
    let mut book = Book::open(folder.path(), begun()).unwrap();
    bencher.bench_local(|| book.catch_up().unwrap());
}
