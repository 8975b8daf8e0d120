//! Every truncation and every single flipped bit of a journal: the book opens to its longest true beginning, says what was cut, and keeps
//! the bad end aside.

use super::support::*;
use turnday::book::journal::{Piece, piece};
use turnday::book::{Book, Error, Event, State};

/// Where each line of a journal begins, and where the last ends.
fn bounds(bytes: &[u8]) -> Vec<usize> {
    let mut out = vec![0];
    while let Piece::Line(_, n) = piece(&bytes[*out.last().unwrap()..]) {
        out.push(out.last().unwrap() + n);
    }
    assert_eq!(*out.last().unwrap(), bytes.len());
    out
}

/// A short journal of a small kitchen: a header, a beginning, and notes, a weighing, an undoing and a correction.
fn small() -> (Shelf, Vec<u8>) {
    let shelf = Shelf::new();
    let mut book = Book::create(&shelf.path(), &least_kitchen(), "R", now()).unwrap();
    let joint = book.state().kitchen.joints[0].name.clone();
    done(book.record(weighed(&joint, 2500.0), "", now()));
    done(book.record(note("ü 1"), "S", now()));
    book.undo(None, "", now()).unwrap();
    done(book.correct(2, weighed(&joint, 2450.0), "", now()));
    let bytes = journal(&shelf.path());
    (shelf, bytes)
}

fn events(bytes: &[u8], bounds: &[usize]) -> Vec<Event> {
    let line = |w: &[usize]| match piece(&bytes[w[0]..w[1]]) {
        Piece::Line(json, _) => serde_json::from_slice(json).unwrap(),
        other => panic!("{other:?}"),
    };
    bounds[1..].windows(2).map(line).collect()
}

/// Puts damaged bytes in a folder, opens it, and looks at everything that came of it.
fn opened(folder: &std::path::Path, damaged: &[u8], true_lines: usize, bounds: &[usize], events: &[Event]) {
    let _ = std::fs::remove_dir_all(folder);
    std::fs::create_dir(folder).unwrap();
    std::fs::write(folder.join("journal"), damaged).unwrap();
    let names = || {
        let mut n: Vec<String> =
            std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
        n.sort();
        n
    };
    match Book::open(folder, now()) {
        Err(Error::NoBeginning { .. }) => {
            assert!(true_lines < 2, "there is a beginning of {true_lines} lines");
            assert_eq!(journal(folder), damaged, "touched");
            assert_eq!(names(), ["journal"]);
        }
        Err(e) => panic!("{e}"),
        Ok(mut book) => {
            assert!(true_lines >= 2);
            let good = bounds[true_lines];
            assert_eq!(journal(folder), damaged[..good], "the true beginning stays");
            assert_eq!(book.state(), &State::fold(&events[..true_lines - 1]).unwrap());
            let cuts = book.take_cuts();
            if damaged.len() == good {
                assert!(cuts.is_empty() && !names().iter().any(|n| n.starts_with("cut-")));
            } else {
                assert_eq!(cuts.len(), 1);
                let kept = cuts[0].kept.as_ref().unwrap();
                assert_eq!(std::fs::read(kept).unwrap(), &damaged[good..], "the bad end is kept");
                assert_eq!((cuts[0].bytes, cuts[0].last), (damaged.len() - good, true_lines as u64 - 1));
                assert!(cuts[0].to_string().contains("kept in"), "{}", cuts[0]);
            }
        }
    }
}

#[test]
fn every_truncation() {
    let (_shelf, bytes) = small();
    let (bounds, scratch) = (bounds(&bytes), quick_folder());
    let events = events(&bytes, &bounds);
    let folder = scratch.path().join("b");
    for n in 0..=bytes.len() {
        let lines = bounds.iter().rposition(|b| *b <= n).unwrap();
        opened(&folder, &bytes[..n], lines, &bounds, &events);
    }
    println!("{} truncations", bytes.len() + 1);
}

#[test]
fn every_flipped_bit() {
    let (_shelf, bytes) = small();
    let (bounds, scratch) = (bounds(&bytes), quick_folder());
    let events = events(&bytes, &bounds);
    let folder = scratch.path().join("b");
    let mut damaged = bytes.clone();
    for i in 0..bytes.len() {
        let lines = bounds.iter().rposition(|b| *b <= i).unwrap();
        for bit in 0..8 {
            damaged[i] ^= 1 << bit;
            opened(&folder, &damaged, lines, &bounds, &events);
            damaged[i] ^= 1 << bit;
        }
    }
    println!("{} flipped bits", bytes.len() * 8);
}

#[test]
fn whole_lines_out_of_order_and_zeros_are_no_part_of_the_book() {
    let (_shelf, bytes) = small();
    let (bounds, scratch) = (bounds(&bytes), quick_folder());
    let events = events(&bytes, &bounds);
    let folder = scratch.path().join("b");
    let line = |i: usize| &bytes[bounds[i]..bounds[i + 1]];
    // A line lost, two swapped, one twice, a header in the middle, and the zeros that a power cut leaves.
    let lost: Vec<u8> = (0..6).filter(|i| *i != 3).flat_map(line).copied().collect();
    opened(&folder, &lost, 3, &bounds, &events);
    let swapped: Vec<u8> = [0, 1, 2, 4, 3, 5].into_iter().flat_map(line).copied().collect();
    opened(&folder, &swapped, 3, &bounds, &events);
    let twice: Vec<u8> = [0, 1, 2, 2, 3, 4, 5].into_iter().flat_map(line).copied().collect();
    opened(&folder, &twice, 3, &bounds, &events);
    let header: Vec<u8> =
        [0, 1, 2, 0, 3].into_iter().flat_map(|i| if i == 0 { line(0) } else { line(i) }).copied().collect();
    let zeros: Vec<u8> = bytes.iter().copied().chain(std::iter::repeat_n(0, 4096)).collect();
    opened(&folder, &zeros, 6, &bounds, &events);
    // A header is whole but no event: it is not understood, and nothing is touched.
    std::fs::write(folder.join("journal"), &header).unwrap();
    assert!(matches!(Book::open(&folder, now()), Err(Error::NotUnderstood { line: 3, .. })));
    assert_eq!(journal(&folder), header);
}

/// A moment at the end of all that can be written, with its checksum right: told, and nothing is reckoned with it.
#[test]
fn moments_outside_all_calendars_are_told() {
    let (_shelf, bytes) = small();
    let marks = bounds(&bytes);
    for (what, moment) in [("at", "+262142-12-31T23:59:59Z"), ("when", "-262143-01-01T00:00:00Z")] {
        let fresh = Shelf::new();
        std::fs::create_dir_all(fresh.path()).unwrap();
        let mut torn = bytes.clone();
        let seq = events(&bytes, &marks).len() + 1;
        let of = |name: &str| if name == what { moment } else { "2026-12-05T12:00:00Z" };
        let line = format!(
            r#"{{"seq":{seq},"at":"{}","act":{{"weighed":{{"joint":"J1","grams":2000.0,"when":"{}"}}}}}}"#,
            of("at"),
            of("when")
        );
        torn.extend(turnday::book::journal::frame(&line));
        std::fs::write(fresh.path().join("journal"), torn).unwrap();
        match Book::open(&fresh.path(), now()) {
            Err(Error::NotUnderstood { says, .. }) => assert!(says.contains("no year"), "{says}"),
            other => panic!("{what}: {other:?}"),
        }
    }
}

#[test]
fn damage_in_a_snapshot_costs_nothing_but_time() {
    let shelf = Shelf::new();
    let mut book = shelf.book();
    for n in 0..505 {
        done(book.record(note(&format!("note {n}")), "", now()));
    }
    let path = shelf.path().join("snapshot.json");
    let snapshot = std::fs::read(&path).expect("a snapshot is kept after 500 events");
    done(book.record(note("one more"), "", now()));
    let whole = book.state().clone();
    for step in [1usize, 3, 7] {
        for i in (step..snapshot.len()).step_by(snapshot.len() / 40) {
            let mut damaged = snapshot.clone();
            damaged[i] ^= 1 << (i % 8);
            std::fs::write(&path, &damaged).unwrap();
            assert_eq!(Book::open(&shelf.path(), now()).unwrap().state(), &whole, "byte {i}");
            std::fs::write(&path, &snapshot[..i]).unwrap();
            assert_eq!(Book::open(&shelf.path(), now()).unwrap().state(), &whole, "cut at {i}");
        }
    }
    // A snapshot of another journal is not believed.
    let other = Shelf::new();
    drop(other.book());
    std::fs::write(other.path().join("snapshot.json"), &snapshot).unwrap();
    assert_eq!(Book::open(&other.path(), now()).unwrap().state().seq, 2);
    // Without the folder's snapshot, and with a whole one, it is the same.
    std::fs::write(&path, &snapshot).unwrap();
    assert_eq!(Book::open(&shelf.path(), now()).unwrap().state(), &whole);
    // Damage in what the snapshot covers is found all the same.
    let mut bytes = journal(&shelf.path());
    let middle = bytes.len() / 2;
    bytes[middle] ^= 4;
    std::fs::write(shelf.path().join("journal"), &bytes).unwrap();
    let mut cut = Book::open(&shelf.path(), now()).unwrap();
    assert!(cut.state().seq < 400 && cut.take_cuts()[0].whole_lines > 100);
}

#[test]
fn an_open_book_follows_what_others_cut_and_append() {
    let shelf = Shelf::new();
    let mut first = shelf.book();
    let mut second = Book::open(&shelf.path(), now()).unwrap();
    assert!(!second.catch_up().unwrap());
    done(first.record(note("a"), "", now()));
    assert!(second.catch_up().unwrap());
    assert_eq!(second.state(), first.state());
    // A line that is half there is not read, and not cut by a reader.
    let mut bytes = journal(&shelf.path());
    let half = &turnday::book::journal::frame("{\"seq\":4}")[..9];
    bytes.extend(half);
    std::fs::write(shelf.path().join("journal"), &bytes).unwrap();
    assert!(!second.catch_up().unwrap());
    assert_eq!(journal(&shelf.path()), bytes);
    // The next writer moves it aside.
    done(first.record(note("b"), "", now()));
    assert_eq!(first.take_cuts()[0].bytes, half.len());
    assert!(second.catch_up().unwrap());
    assert_eq!(second.state(), first.state());
    // What was read is suddenly otherwise: it is read anew.
    let text = String::from_utf8(journal(&shelf.path())).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    std::fs::write(shelf.path().join("journal"), lines[..3].join("\n") + "\n").unwrap();
    assert!(second.catch_up().unwrap());
    assert_eq!(second.state().seq, 2);
    done(second.record(note("c"), "", now()));
    first.catch_up().unwrap();
    assert_eq!(second.state(), first.state());
}
