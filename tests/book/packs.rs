//! Packs: counted, taken, and told of the batch they are of.

use super::support::{Shelf, done, kitchen, line, now, plan};
use chrono::TimeDelta;
use turnday::app::from_book::record;
use turnday::app::record::Record;
use turnday::book::{Act, Book, Error, Gone, PlanLine, TaskAct};
use turnday::process::Kind;

fn counted(joint: &str, packs: u32, grams: f64) -> Act {
    Act::Packs { joint: joint.into(), packs, grams: Some(grams), when: now() }
}

fn taken(joint: &str, packs: u32, gone: Gone, minutes: i64) -> Act {
    Act::Taken { joint: joint.into(), packs, gone, when: now() - TimeDelta::minutes(minutes) }
}

/// Left of each lot, nothing where nobody counted, and whether its batch is over.
fn left(book: &Book) -> Vec<(Option<u32>, bool)> {
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

fn lift() -> PlanLine {
    PlanLine { joints: vec!["J2".into()], ..line("lift J2", "2026-11-20 19:00") }
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
    let line = done(book.record(counted("J1", 11, 1620.0), "", now()));
    assert!(book.record(counted("J1", 11, 1620.0), "", now()).unwrap().already);
    done(book.record(taken("J1", 2, Gone::Eaten, 60), "", now()));
    assert!(book.record(taken("J1", 2, Gone::Eaten, 61), "", now()).unwrap().already, "said twice");
    done(book.record(taken("J1", 2, Gone::Sold, 61), "", now()));
    done(book.record(taken("J1", 1, Gone::Eaten, 0), "", now()));
    assert_eq!(left(&book), [(Some(6), false)]);
    let says = refused(book.record(taken("J1", 7, Gone::GivenAway, 0), "", now()));
    assert!(says.contains("by the record 6 of J1 are left") && says.contains(&format!("--instead {line}")), "{says}");
    let says = refused(book.record(counted("J1", 4, 600.0), "", now()));
    assert!(says.contains("5 packs of J1 are gone by the record"), "{says}");
    for (packs, grams) in [(0, 100.0), (10_001, 100.0), (3, 0.0), (3, f64::NAN), (3, 1e9)] {
        refused(book.record(counted("J1", packs, grams), "", now()));
    }
    refused(book.record(counted("J7", 3, 500.0), "", now()));
    refused(book.record(taken("J1", 0, Gone::Eaten, 0), "", now()));
    // Counted again without a weight: the weight stands, and what is gone stays gone.
    let again = Act::Packs { joint: "J1".into(), packs: 11, grams: None, when: now() };
    assert!(book.record(again, "", now()).unwrap().already);
    done(book.record(counted("J1", 12, 1700.0), "", now()));
    assert_eq!(left(&book), [(Some(7), false)]);
    let r = read(&book);
    let [c] = r.packs.as_slice() else { panic!("{:?}", r.packs) };
    assert_eq!((c.packs, c.left, c.grams), (Some(12), Some(7), Some(1700.0)));
    assert_eq!(c.gone, [("eaten".to_owned(), 3), ("sold".to_owned(), 2)]);
    drop(book);
    assert_eq!(left(&Book::open(&shelf.path(), now()).unwrap()), [(Some(7), false)]);
}

/// A count that is undone and told anew, or put right, loses nothing of what was taken in between.
#[test]
fn what_was_taken_outlasts_its_count() {
    let shelf = Shelf::new();
    let mut book = shelf.book();
    let first = done(book.record(counted("J1", 11, 1620.0), "", now()));
    done(book.record(taken("J1", 3, Gone::Sold, 0), "", now()));
    book.undo(Some(first), "", now()).unwrap();
    assert_eq!(left(&book), [(None, false)]);
    refused(book.record(counted("J1", 2, 300.0), "", now()));
    let second = done(book.record(counted("J1", 9, 1400.0), "", now()));
    assert_eq!(left(&book), [(Some(6), false)]);
    done(book.correct(second, counted("J1", 10, 1500.0), "", now()));
    assert_eq!(left(&book), [(Some(7), false)]);
    // A higher count on which more was taken, undone: the lower one does not stand, and is not read as none left.
    let high = done(book.record(counted("J1", 14, 2000.0), "", now()));
    done(book.record(taken("J1", 9, Gone::Eaten, 30), "", now()));
    book.undo(Some(high), "", now()).unwrap();
    assert_eq!(left(&book), [(None, false)]);
    assert_eq!(read(&book).packs[0].seen, Some(now() - TimeDelta::minutes(30)), "the first that was seen of them");
}

/// Two batches of one name: the older is eaten first, and each is told by its own batch.
#[test]
fn packs_outlast_their_batch() {
    let shelf = Shelf::new();
    let mut book = Book::create(&shelf.path(), &kitchen(), "R", now()).unwrap();
    done(book.record(plan(&[lift()]), "", now()));
    done(book.record(counted("J2", 4, 800.0), "", now()));
    done(book.record(without("J2"), "", now()));
    assert_eq!(left(&book), [(Some(4), true)]);
    let before = read(&book).before;
    assert_eq!(before.len(), 1, "of packs that were counted something came, lifted by the record or not");
    assert_eq!(before[0].joints[0].packs.as_ref().and_then(|p| p.left), Some(4));
    done(book.record(with_all(), "", now()));
    // Nothing of the younger is packed yet, by no plan and by one that has it later: what is counted is the older's.
    done(book.record(counted("J2", 5, 900.0), "", now()));
    assert_eq!(left(&book), [(Some(5), true)]);
    let pack = |day| PlanLine { kind: Kind::VacuumPack, joints: vec!["J2".into()], ..line("pack J2", day) };
    done(book.record(plan(&[lift(), pack("2026-12-23 19:00")]), "", now()));
    done(book.record(counted("J2", 4, 800.0), "", now()));
    assert_eq!(left(&book), [(Some(4), true)]);
    // From the moment it is to be packed on, ticked off or not, it has packs of its own.
    done(book.record(plan(&[lift(), pack("2026-12-05 09:00")]), "", now()));
    done(book.record(counted("J2", 6, 1200.0), "", now()));
    done(book.record(taken("J2", 5, Gone::Eaten, 0), "", now()));
    assert_eq!(left(&book), [(Some(0), true), (Some(5), false)]);
    let r = read(&book);
    assert_eq!(r.before[0].joints[0].packs.as_ref().and_then(|p| p.left), Some(0));
    assert_eq!(r.packs.iter().map(|p| (p.joint.as_str(), p.left)).collect::<Vec<_>>(), [("J2", Some(5))]);
    let says = refused(book.record(taken("J2", 6, Gone::Sold, 0), "", now()));
    assert!(says.contains("by the record 5 of J2 are left"), "{says}");
    // The younger count is taken back and told anew: nothing of what is gone is put down to the older batch.
    let count = book.events().unwrap().iter().rposition(|e| matches!(e.act, Act::Packs { .. })).unwrap() as u64 + 1;
    book.undo(Some(count), "", now()).unwrap();
    assert_eq!(left(&book), [(Some(0), true), (None, false)]);
    done(book.record(counted("J2", 8, 1600.0), "", now()));
    assert_eq!(left(&book), [(Some(0), true), (Some(7), false)]);
}

/// What nobody counted can be gone all the same, and is not read as none left.
#[test]
fn packs_that_nobody_counted_are_taken_too() {
    let shelf = Shelf::new();
    let mut book = shelf.book();
    done(book.record(taken("J1", 3, Gone::ThrownAway, 0), "", now()));
    assert_eq!(left(&book), [(None, false)]);
    let r = read(&book);
    assert_eq!((r.packs[0].left, r.packs[0].gone.as_slice()), (None, &[("thrown away".to_owned(), 3)][..]));
    done(book.record(counted("J1", 11, 1620.0), "", now()));
    assert_eq!(left(&book), [(Some(8), false)]);
}

/// Not one tick, but its packing was due before it left: what was not ticked off may have been done all the same.
#[test]
fn a_batch_that_was_to_be_packed_by_then_is_not_forgotten() {
    for (planned, known) in [("2026-12-01 19:00", true), ("2026-12-20 19:00", false)] {
        let shelf = Shelf::new();
        let mut book = Book::create(&shelf.path(), &kitchen(), "R", now()).unwrap();
        let pack = PlanLine { joints: vec!["J2".into()], kind: Kind::VacuumPack, ..line("pack J2", planned) };
        done(book.record(plan(&[pack]), "", now()));
        done(book.record(without("J2"), "", now()));
        assert_eq!(read(&book).before.len(), usize::from(known), "{planned}");
    }
}

/// What was left out of the freezer keeps as in the fridge; left out and done after all, as in the freezer.
#[test]
fn what_was_left_out_of_the_freezer_is_not_frozen() {
    for done_after_all in [false, true] {
        let shelf = Shelf::new();
        let mut book = Book::create(&shelf.path(), &kitchen(), "R", now()).unwrap();
        let freeze =
            PlanLine { joints: vec!["J2".into()], kind: Kind::Freeze, ..line("freeze J2", "2026-12-01 19:00") };
        done(book.record(plan(&[freeze]), "", now()));
        done(book.record(counted("J2", 5, 1000.0), "", now()));
        let skipped = TaskAct::Skipped { why: "no room".into() };
        done(book.record(Act::Task { id: "freeze J2".into(), what: skipped, when: now() }, "", now()));
        if done_after_all {
            done(book.record(super::support::turned("freeze J2", "2026-12-02 19:00"), "", now()));
        }
        done(book.record(without("J2"), "", now()));
        assert_eq!(read(&book).before[0].joints[0].frozen, done_after_all);
    }
}

/// A count after two batches of one name is the later one's.
#[test]
fn a_late_count_is_of_the_last_that_went_by_its_name() {
    let shelf = Shelf::new();
    let mut book = Book::create(&shelf.path(), &kitchen(), "R", now()).unwrap();
    done(book.record(plan(&[lift()]), "", now()));
    done(book.record(counted("J2", 5, 1000.0), "", now()));
    for act in [without("J2"), with_all(), without("J2")] {
        done(book.record(act, "", now()));
    }
    assert_eq!(left(&book), [(Some(5), true), (None, true)]);
    done(book.record(counted("J2", 6, 1200.0), "", now()));
    assert_eq!(left(&book), [(Some(5), true), (Some(6), true)]);
    let packs: Vec<_> = read(&book).before.iter().map(|b| b.joints[0].packs.clone().unwrap().packs).collect();
    assert_eq!(packs, [Some(5), Some(6)], "each batch has its own");
}

/// A book from elsewhere may say anything.
#[test]
fn more_packs_than_anybody_makes_are_not_believed() {
    let shelf = Shelf::new();
    let mut book = shelf.book();
    done(book.record(counted("J1", 7777, 1000.0), "", now()));
    done(book.record(taken("J1", 7776, Gone::Sold, 0), "", now()));
    let text = turnday::book::export(&book).unwrap().replace("777", "4294967");
    let other = Shelf::new();
    let book = turnday::book::import(
        &other.path(),
        &text.replace("42949677", "4294967295").replace("42949676", "4294967295"),
        now(),
    )
    .unwrap();
    assert!(text.contains("42949677"));
    assert_eq!(left(&book), [(Some(0), false)]);
    assert_eq!(read(&book).packs[0].packs, Some(10_000));
    let far = text
        .replace("42949677", "4")
        .replace("42949676", "4")
        .replace("2026-12-05T12:00:00Z\"}}", "-262143-01-01T00:00:00Z\"}}");
    let refused = turnday::book::import(&Shelf::new().path(), &far, now()).unwrap_err().to_string();
    assert!(refused.contains("happened in no year of a kitchen"), "{refused}");
}

/// A batch that was closed first and counted after.
#[test]
fn packs_are_counted_when_the_batch_is_over() {
    for lifted in [false, true] {
        let shelf = Shelf::new();
        let mut book = Book::create(&shelf.path(), &kitchen(), "R", now()).unwrap();
        done(book.record(plan(&[lift()]), "", now()));
        if lifted {
            done(book.record(super::support::turned("lift J2", "2026-11-20 19:00"), "", now()));
        }
        done(book.record(without("J2"), "", now()));
        assert_eq!(read(&book).before.len(), usize::from(lifted));
        let line = done(book.record(counted("J2", 7, 1450.0), "", now()));
        done(book.correct(line, counted("J2", 8, 1450.0), "", now()));
        done(book.record(taken("J2", 1, Gone::ThrownAway, 0), "", now()));
        assert_eq!(left(&book), [(Some(7), true)]);
        let r = read(&book);
        let [before] = r.before.as_slice() else { panic!("{lifted} {:?}", r.before) };
        let packs = before.joints[0].packs.as_ref().unwrap();
        assert_eq!((packs.packs, packs.left, packs.grams), (Some(8), Some(7), Some(1450.0)));
        assert!(r.packs.is_empty(), "no joint of the kitchen has packs");
        // As planned, since nobody said when it was packed: there is no pack line, so nothing is known.
        assert_eq!((before.joints[0].packed, before.joints[0].cooked), (None, None));
    }
}
