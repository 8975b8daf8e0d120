//! Packs: counted, taken, and told of the batch they are of.

use super::support::{Shelf, done, kitchen, line, now, plan};
use chrono::TimeDelta;
use turnday::app::from_book::record;
use turnday::app::record::Record;
use turnday::book::{Act, Book, Error, Gone, PlanLine};

fn counted(joint: &str, packs: u32, grams: f64) -> Act {
    Act::Packs { joint: joint.into(), packs, grams: Some(grams), when: now() }
}

fn taken(joint: &str, packs: u32, gone: Gone, minutes: i64) -> Act {
    Act::Taken { joint: joint.into(), packs, gone, when: now() - TimeDelta::minutes(minutes) }
}

fn left(book: &Book) -> Vec<(u32, bool)> {
    book.state().lots.iter().map(|l| (l.left(), l.over)).collect()
}

fn refused(r: Result<turnday::book::Recorded, Error>) -> String {
    match r {
        Err(Error::Refused(r)) => r.to_string(),
        other => panic!("{other:?}"),
    }
}

fn read(book: &Book) -> Record {
    record(book.state(), &book.events().unwrap())
}

/// The kitchen without a joint.
fn without(joint: &str) -> Act {
    let mut text: serde_json::Value = serde_json::from_str(&kitchen()).unwrap();
    text["joints"].as_array_mut().unwrap().retain(|j| j["name"] != joint);
    Act::KitchenChanged { kitchen: text.to_string(), says: format!("{joint} left") }
}

fn with_all() -> Act {
    Act::KitchenChanged { kitchen: kitchen(), says: "all there".into() }
}

#[test]
fn packs_are_counted_and_taken() {
    let shelf = Shelf::new();
    let mut book = shelf.book();
    let says = refused(book.record(taken("J1", 1, Gone::Eaten, 0), "", now()));
    assert!(says.contains("`turnday log packs J1 "), "what to do next: {says}");
    let line = done(book.record(counted("J1", 11, 1620.0), "", now()));
    assert!(book.record(counted("J1", 11, 1620.0), "", now()).unwrap().already);
    done(book.record(taken("J1", 2, Gone::Eaten, 60), "", now()));
    assert!(book.record(taken("J1", 2, Gone::Eaten, 61), "", now()).unwrap().already, "said twice");
    done(book.record(taken("J1", 2, Gone::Sold, 61), "", now()));
    done(book.record(taken("J1", 1, Gone::Eaten, 0), "", now()));
    assert_eq!(left(&book), [(6, false)]);
    let says = refused(book.record(taken("J1", 7, Gone::GivenAway, 0), "", now()));
    assert!(says.contains("by the record 6 of J1 are left") && says.contains(&format!("--instead {line}")), "{says}");
    let says = refused(book.record(counted("J1", 4, 600.0), "", now()));
    assert!(says.contains("5 packs of J1 are gone by the record"), "{says}");
    for (packs, grams) in [(0, 100.0), (10_001, 100.0), (3, 0.0), (3, f64::NAN), (3, 1e9)] {
        refused(book.record(counted("J1", packs, grams), "", now()));
    }
    refused(book.record(counted("J7", 3, 500.0), "", now()));
    refused(book.record(taken("J1", 0, Gone::Eaten, 0), "", now()));
    // Counted again, and what is gone stays gone.
    done(book.record(counted("J1", 12, 1700.0), "", now()));
    assert_eq!(left(&book), [(7, false)]);
    let r = read(&book);
    let [c] = r.packs.as_slice() else { panic!("{:?}", r.packs) };
    assert_eq!((c.packs, c.left, c.grams), (12, 7, Some(1700.0)));
    assert_eq!(c.gone, [("eaten".to_owned(), 3), ("sold".to_owned(), 2)]);
    drop(book);
    assert_eq!(left(&Book::open(&shelf.path(), now()).unwrap()), [(7, false)]);
}

/// A count that is undone and told anew, or put right, loses nothing of what was taken in between.
#[test]
fn what_was_taken_outlasts_its_count() {
    let shelf = Shelf::new();
    let mut book = shelf.book();
    let first = done(book.record(counted("J1", 11, 1620.0), "", now()));
    done(book.record(taken("J1", 3, Gone::Sold, 0), "", now()));
    book.undo(Some(first), "", now()).unwrap();
    assert_eq!(left(&book), []);
    let second = done(book.record(counted("J1", 9, 1400.0), "", now()));
    assert_eq!(left(&book), [(6, false)]);
    done(book.correct(second, counted("J1", 10, 1500.0), "", now()));
    assert_eq!(left(&book), [(7, false)]);
}

/// Two batches of one name: the older is eaten first, and each is told by its own batch.
#[test]
fn packs_outlast_their_batch() {
    let shelf = Shelf::new();
    let mut book = Book::create(&shelf.path(), &kitchen(), "R", now()).unwrap();
    let mine = |id: &str| PlanLine { joints: vec!["J2".into()], ..line(id, "2026-11-20 19:00") };
    done(book.record(plan(&[mine("lift J2")]), "", now()));
    done(book.record(counted("J2", 4, 800.0), "", now()));
    done(book.record(without("J2"), "", now()));
    assert_eq!(left(&book), [(4, true)]);
    let before = read(&book).before;
    assert_eq!(before.len(), 1, "of packs that were counted something came, lifted by the record or not");
    assert_eq!(before[0].joints[0].packs.as_ref().map(|p| p.left), Some(4));
    done(book.record(with_all(), "", now()));
    done(book.record(counted("J2", 6, 1200.0), "", now()));
    done(book.record(taken("J2", 5, Gone::Eaten, 0), "", now()));
    assert_eq!(left(&book), [(0, true), (5, false)]);
    let r = read(&book);
    assert_eq!(r.before[0].joints[0].packs.as_ref().map(|p| p.left), Some(0));
    assert_eq!(r.packs.iter().map(|p| (p.joint.as_str(), p.left)).collect::<Vec<_>>(), [("J2", 5)]);
    let says = refused(book.record(taken("J2", 6, Gone::Sold, 0), "", now()));
    assert!(says.contains("by the record 5 of J2 are left"), "{says}");
}

/// A batch that was closed first and counted after.
#[test]
fn packs_are_counted_when_the_batch_is_over() {
    for lifted in [false, true] {
        let shelf = Shelf::new();
        let mut book = Book::create(&shelf.path(), &kitchen(), "R", now()).unwrap();
        let mine = |id: &str| PlanLine { joints: vec!["J2".into()], ..line(id, "2026-11-20 19:00") };
        done(book.record(plan(&[mine("lift J2")]), "", now()));
        if lifted {
            done(book.record(super::support::turned("lift J2", "2026-11-20 19:00"), "", now()));
        }
        done(book.record(without("J2"), "", now()));
        assert_eq!(read(&book).before.len(), usize::from(lifted));
        let line = done(book.record(counted("J2", 7, 1450.0), "", now()));
        done(book.correct(line, counted("J2", 8, 1450.0), "", now()));
        done(book.record(taken("J2", 1, Gone::ThrownAway, 0), "", now()));
        assert_eq!(left(&book), [(7, true)]);
        let r = read(&book);
        let [before] = r.before.as_slice() else { panic!("{lifted} {:?}", r.before) };
        let packs = before.joints[0].packs.as_ref().unwrap();
        assert_eq!((packs.packs, packs.left, packs.grams), (8, 7, Some(1450.0)));
        assert!(r.packs.is_empty(), "no joint of the kitchen has packs");
        // As planned, since nobody said when it was packed: there is no pack line, so nothing is known.
        assert_eq!((before.joints[0].packed, before.joints[0].cooked), (None, None));
    }
}
