//! What is recorded, what is refused, and what undoing means.

use super::support::*;
use turnday::book::{Act, Book, Error, FORMAT, ReadingOf, TaskAct, export, import};

#[test]
fn what_is_recorded_is_there_when_opened_again() {
    let shelf = Shelf::new();
    let mut book = shelf.book();
    done(book.record(weighed("J1", 3400.0), "S", now()));
    done(book.record(turned("turn BOX 1", "2026-12-04 19:10"), "S", now()));
    let again = Book::open(&shelf.path(), now()).unwrap();
    assert_eq!(again.state(), book.state());
    assert_eq!(again.id(), book.id());
    let state = again.state();
    assert_eq!(state.kitchen.joints[0].planned_weight().as_kg(), 3.4);
    let finished = state.tasks["turn BOX 1"].finished.as_ref().unwrap();
    assert_eq!((finished.when, finished.by.as_str(), finished.seq), (t("2026-12-04 19:10"), "S", 4));
    assert_eq!(again.events().unwrap().len(), 4);
}

#[test]
fn unknown_names_are_refused_with_near_ones_and_leave_no_trace() {
    let shelf = Shelf::new();
    let mut book = shelf.book();
    let before = journal(&shelf.path());
    assert_eq!(refused(book.record(weighed("J3", 3000.0), "", now())).near, ["J1", "J2"]);
    assert_eq!(refused(book.record(turned("trun BOX 1", "2026-12-04 19:00"), "", now())).near[0], "turn BOX 1");
    let reading = |of| Act::Reading { of, celsius: 4.0, when: now() };
    refused(book.record(reading(ReadingOf::Brine { tub: "BX".into() }), "", now()));
    refused(book.record(reading(ReadingOf::Space { name: "cellar".into() }), "", now()));
    refused(book.record(weighed("J1", f64::NAN), "", now()));
    refused(book.record(turned("turn BOX 1", "2026-12-06 19:00"), "", now()));
    refused(book.record(turned("turn BOX 1", "1987-12-06 19:00"), "", now()));
    refused(book.record(note("   "), "", now()));
    assert_eq!(journal(&shelf.path()), before);
}

#[test]
fn logged_twice_says_so_and_does_not_double() {
    let shelf = Shelf::new();
    let mut book = shelf.book();
    let first = done(book.record(turned("turn BOX 1", "2026-12-04 19:00"), "S", now()));
    assert_eq!(already(book.record(turned("turn BOX 1", "2026-12-04 19:01"), "R", now())), first);
    let w = done(book.record(weighed("J1", 3400.0), "", now()));
    assert_eq!(already(book.record(weighed("J1", 3400.0), "", now())), w);
    done(book.record(weighed("J1", 3420.0), "", now()));
    // Weighed back to what it was is a new weighing.
    done(book.record(weighed("J1", 3400.0), "", now()));
    let n = done(book.record(note("froth"), "", now()));
    assert_eq!(already(book.record(note("froth"), "", now())), n);
    assert_eq!(book.state().notes.len(), 1);
}

#[test]
fn the_wrong_joint_undone_and_the_right_one_logged() {
    let shelf = Shelf::new();
    let mut book = shelf.book();
    let wrong = done(book.record(weighed("J2", 3400.0), "", now()));
    let before = book.state().kitchen.joints[1].planned_weight();
    assert_eq!(before.as_kg(), 3.4);
    let revision = book.state().revision;
    assert_eq!(book.undo(None, "R", now()).unwrap().event.seq, wrong);
    assert!(book.state().revision > revision);
    assert_eq!(book.state().kitchen.joints[1].planned_weight().as_kg(), 2.1);
    done(book.record(weighed("J1", 3400.0), "", now()));
    assert!(book.redo(None, "", now()).is_err(), "something was recorded since");
    book.redo(Some(wrong), "", now()).unwrap();
    assert_eq!(book.state().kitchen.joints[1].planned_weight().as_kg(), 3.4);
    assert_eq!(Book::open(&shelf.path(), now()).unwrap().state(), book.state());
}

#[test]
fn undo_and_redo_walk_back_and_forth() {
    let shelf = Shelf::new();
    let mut book = shelf.book();
    let texts = |b: &Book| b.state().notes.iter().map(|n| n.text.clone()).collect::<Vec<_>>().join("");
    for n in ["a", "b", "c"] {
        done(book.record(note(n), "", now()));
    }
    for left in ["ab", "a", ""] {
        book.undo(None, "", now()).unwrap();
        assert_eq!(texts(&book), left);
    }
    for back in ["a", "ab", "abc"] {
        book.redo(None, "", now()).unwrap();
        assert_eq!(texts(&book), back);
    }
    assert!(book.redo(None, "", now()).is_err());
    // The plan and then nothing more can be taken back; the beginning cannot.
    for _ in 0..4 {
        book.undo(None, "", now()).unwrap();
    }
    assert!(book.state().plan.is_none());
    let says = book.undo(None, "", now()).unwrap_err().to_string();
    assert!(says.contains("nothing to undo"), "{says}");
    assert!(book.undo(Some(1), "", now()).is_err());
    assert!(book.undo(Some(99), "", now()).is_err() && book.undo(Some(0), "", now()).is_err());
    assert_eq!(Book::open(&shelf.path(), now()).unwrap().state(), book.state());
}

#[test]
fn a_correction_counts_in_the_place_of_what_it_corrects() {
    let shelf = Shelf::new();
    let mut book = shelf.book();
    let first = done(book.record(weighed("J1", 26_000.0), "", now()));
    let second = done(book.correct(first, weighed("J1", 2600.0), "", now()));
    assert_eq!(book.state().kitchen.joints[0].planned_weight().as_kg(), 2.6);
    // Correcting the correction corrects the first line again.
    done(book.correct(second, weighed("J1", 2650.0), "", now()));
    assert_eq!(book.state().kitchen.joints[0].planned_weight().as_kg(), 2.65);
    already(book.correct(first, weighed("J1", 2650.0), "", now()));
    book.undo(None, "", now()).unwrap();
    assert_eq!(book.state().kitchen.joints[0].planned_weight().as_kg(), 2.6);
    refused(book.correct(first, note("no weight"), "", now()));
    refused(book.correct(1, note("the beginning"), "", now()));
    assert_eq!(Book::open(&shelf.path(), now()).unwrap().state(), book.state());
}

#[test]
fn sequences_of_lines_only_rise() {
    let shelf = Shelf::new();
    let mut book = shelf.book();
    let sequence = |b: &Book, id: &str| (b.state().lines[id].sequence, b.state().lines[id].cancelled);
    assert_eq!(sequence(&book, "turn BOX 1"), (0, false));
    let moved = [line("turn BOX 1", "2026-12-04 19:00"), line("turn BOX 2", "2026-12-08 07:00")];
    let second = done(book.record(plan(&moved), "", now()));
    assert_eq!(sequence(&book, "turn BOX 1"), (0, false), "it did not change");
    assert_eq!(sequence(&book, "turn BOX 2"), (1, false));
    assert_eq!(sequence(&book, "turn BOX 3"), (1, true));
    assert!(book.undo(Some(2), "", now()).is_err(), "the second plan stands on the first");
    book.undo(Some(second), "", now()).unwrap();
    assert_eq!(sequence(&book, "turn BOX 2"), (2, false));
    assert_eq!(sequence(&book, "turn BOX 3"), (2, false));
    assert_eq!(book.state().lines["turn BOX 2"].line.start, t("2026-12-07 19:00"));
    assert_eq!(book.state().lines.planned().len(), 4);
    // A task of a plan that is gone can still be logged: it is known.
    assert_eq!(Book::open(&shelf.path(), now()).unwrap().state(), book.state());
}

#[test]
fn started_finished_skipped_in_order() {
    let shelf = Shelf::new();
    let mut book = shelf.book();
    let act = |what, when: &str| Act::Task { id: "turn BOX 1".into(), what, when: t(when) };
    let skipped = || TaskAct::Skipped { why: "ill".into() };
    done(book.record(act(TaskAct::Started, "2026-12-04 19:00"), "", now()));
    refused(book.record(act(TaskAct::Finished, "2026-12-04 18:00"), "", now()));
    done(book.record(act(TaskAct::Finished, "2026-12-04 19:20"), "", now()));
    refused(book.record(act(skipped(), "2026-12-04 19:20"), "", now()));
    book.undo(None, "", now()).unwrap();
    done(book.record(act(skipped(), "2026-12-04 19:20"), "", now()));
    // Done after all.
    done(book.record(act(TaskAct::Finished, "2026-12-05 08:00"), "", now()));
    assert!(book.state().tasks["turn BOX 1"].skipped.is_none());
}

#[test]
fn out_and_in_again_is_the_same_book_and_nothing_is_overwritten() {
    let shelf = Shelf::new();
    let mut book = shelf.book();
    done(book.record(weighed("J1", 3400.0), "Ωмега", now()));
    book.undo(None, "", now()).unwrap();
    let text = export(&book).unwrap();
    let other = Shelf::new();
    let copy = import(&other.path(), &text, now()).unwrap();
    assert_eq!(copy.state(), book.state());
    assert_eq!(copy.id(), book.id());
    assert_eq!(journal(&shelf.path()), journal(&other.path()));
    assert_eq!(export(&copy).unwrap(), text);
    assert!(matches!(import(&other.path(), &text, now()), Err(Error::AlreadyThere { .. })));
    assert!(matches!(Book::create(&other.path(), &kitchen(), "", now()), Err(Error::AlreadyThere { .. })));
    for bad in ["", "{}", "[]", "nonsense", &text[..text.len() / 2], &text.replace("\"seq\":2", "\"seq\":7")] {
        let third = Shelf::new();
        assert!(import(&third.path(), bad, now()).is_err());
        assert!(!third.path().exists(), "nothing is made of a bad export");
    }
    // One of the format before comes in too, and is of today's from then on.
    let head =
        |format: u64| text.replace(&format!("\"turnday_book\": {FORMAT}"), &format!("\"turnday_book\": {format}"));
    let old = import(&Shelf::new().path(), &head(FORMAT - 1), now()).unwrap();
    assert_eq!(old.state(), book.state());
    let newer = import(&Shelf::new().path(), &head(FORMAT + 1), now());
    assert!(matches!(newer, Err(Error::Newer { format, .. }) if format == FORMAT + 1));
}
