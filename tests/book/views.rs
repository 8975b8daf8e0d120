//! The book as the record that the views read: what happened by whom, what was taken back, what batch came before.

use super::support::{Shelf, kitchen, line, now, plan, t, turned, weighed};
use turnday::app::from_book::record;
use turnday::app::record::{Holds, Probed, Record};
use turnday::book::{Act, Book, PlanLine, ReadingOf, TaskAct};
use turnday::process::Kind;

fn read(book: &Book) -> Record {
    record(book.state(), &book.events().unwrap())
}

#[test]
fn what_happened_is_read_with_who_and_when() {
    let shelf = Shelf::new();
    let mut book = shelf.book();
    book.record(turned("turn BOX 1", "2026-12-04 19:05"), "S", now()).unwrap();
    let skipped = TaskAct::Skipped { why: "both away".into() };
    book.record(Act::Task { id: "turn BOX 2".into(), what: skipped, when: now() }, "R", now()).unwrap();
    book.record(weighed("J1", 2650.0), "R", now()).unwrap();
    let core = ReadingOf::Brine { tub: "BOX".into() };
    book.record(Act::Reading { of: core, celsius: 4.1, when: now() }, "R", now()).unwrap();
    let r = read(&book);
    assert!(r.done.contains("turn BOX 1") && !r.done.contains("turn BOX 2"));
    let first = &r.tasks["turn BOX 1"];
    assert_eq!((first.finished, first.by.as_str()), (Some(t("2026-12-04 19:05")), "S"));
    assert_eq!(r.tasks["turn BOX 2"].skipped.as_deref(), Some("both away"));
    assert_eq!((r.weights[0].joint.as_str(), r.weights[0].grams), ("J1", 2650.0));
    assert_eq!((&r.readings[0].of, r.readings[0].celsius), (&Probed::Brine("BOX".into()), 4.1));
    assert!(r.before.is_empty(), "no batch is finished: {:?}", r.before);
}

#[test]
fn corrections_are_shown_and_do_not_count() {
    let shelf = Shelf::new();
    let mut book = shelf.book();
    let turn = book.record(turned("turn BOX 1", "2026-12-04 19:05"), "S", now()).unwrap().seq;
    let weight = book.record(weighed("J1", 2400.0), "R", now()).unwrap().seq;
    let undo = book.record(Act::Undone { seq: turn }, "S", now()).unwrap().seq;
    let right = Act::Corrected { seq: weight, act: Box::new(weighed("J1", 2650.0)) };
    let right = book.record(right, "R", now()).unwrap().seq;
    let r = read(&book);
    let holds = |seq: u64| r.entries.iter().find(|e| e.seq == seq).unwrap().holds;
    assert_eq!(holds(turn), Holds::Undone(undo));
    assert_eq!(holds(weight), Holds::Corrected(right));
    assert_eq!(holds(right), Holds::Yes);
    assert!(r.done.is_empty());
    assert_eq!(r.weights[0].grams, 2650.0);
}

/// A joint that leaves the kitchen after it was lifted was a batch; one that never went in was not.
#[test]
fn a_batch_that_left_is_there_to_compare_with() {
    let shelf = Shelf::new();
    let mut book = Book::create(&shelf.path(), &kitchen(), "R", now()).unwrap();
    let of = |id: &str, kind: Kind, start: &str| PlanLine { kind, joints: vec!["J2".into()], ..line(id, start) };
    let lines = [
        of("put in BOX", Kind::Submerge, "2026-11-10 19:00"),
        of("lift J2", Kind::Rinse, "2026-11-23 07:00"),
        of("simmer Pot", Kind::Simmer, "2026-11-24 09:00"),
    ];
    book.record(plan(&lines), "R", now()).unwrap();
    book.record(turned("put in BOX", "2026-11-10 19:00"), "R", now()).unwrap();
    book.record(turned("lift J2", "2026-11-23 07:00"), "R", now()).unwrap();
    let started = Act::Task { id: "simmer Pot".into(), what: TaskAct::Started, when: t("2026-11-24 09:00") };
    book.record(started, "R", now()).unwrap();
    book.record(turned("simmer Pot", "2026-11-24 12:30"), "R", now()).unwrap();
    let taste = Act::Taste { joint: "J2".into(), score: 4, text: "good".into(), when: t("2026-11-26 08:00") };
    book.record(taste, "S", now()).unwrap();
    let mut left: serde_json::Value = serde_json::from_str(&kitchen()).unwrap();
    left["joints"].as_array_mut().unwrap().retain(|j| j["name"] != "J2");
    left["cure"]["salt_percent"] = 2.2.into();
    let changed = Act::KitchenChanged { kitchen: left.to_string(), says: "batch closed".into() };
    book.record(changed, "R", now()).unwrap();
    let r = read(&book);
    let [before] = r.before.as_slice() else { panic!("{:?}", r.before) };
    let [came] = before.joints.as_slice() else { panic!("{before:?}") };
    assert_eq!((came.joint.as_str(), came.brine_days, came.simmer), ("J2", Some(12.5), Some((10, 210))));
    assert_eq!((came.tastes.len(), before.recipe.salt_percent), (1, 2.5));
}

/// What the scale said stands whatever else is changed in the kitchen's text, until the text says another weight of that joint.
#[test]
fn the_scale_stands_until_the_text_says_another_weight() {
    let shelf = Shelf::new();
    let mut text: serde_json::Value = serde_json::from_str(&kitchen()).unwrap();
    text["joints"][0]["weighed"] = 2.3.into();
    let mut book = Book::create(&shelf.path(), &text.to_string(), "R", now()).unwrap();
    let weight = |book: &Book| book.state().kitchen.joints[0].weighed.map(|w| (w.as_kg() * 1000.0).round());
    assert_eq!(weight(&book), Some(2300.0));
    book.record(weighed("J1", 2900.0), "R", now()).unwrap();
    assert_eq!(weight(&book), Some(2900.0));
    let change = |book: &mut Book, text: &serde_json::Value| {
        book.record(Act::KitchenChanged { kitchen: text.to_string(), says: "changed".into() }, "R", now()).unwrap();
    };
    text["name"] = "another name".into();
    change(&mut book, &text);
    assert_eq!(weight(&book), Some(2900.0), "nothing was said of the weight");
    text["joints"][0]["weighed"] = 2.8.into();
    change(&mut book, &text);
    assert_eq!(weight(&book), Some(2800.0), "the text says another weight, and later");
    book.record(weighed("J1", 3000.0), "R", now()).unwrap();
    assert_eq!(weight(&book), Some(3000.0));
    drop(book);
    let again = Book::open(&shelf.path(), now()).unwrap();
    assert_eq!(weight(&again), Some(3000.0));
}
