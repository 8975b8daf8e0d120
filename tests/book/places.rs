//! Folders and clocks as they come: symbolic links, odd names, no room to write, a clock set back, another zone.

use super::support::*;
use turnday::book::{Act, Book, Error, FORMAT, files};

#[test]
fn no_book_is_said_so_and_nothing_is_made() {
    let shelf = Shelf::new();
    let e = Book::open(&shelf.path(), now()).unwrap_err();
    assert!(matches!(e, Error::NoBook { .. }) && e.to_string().contains("turnday start KITCHEN"), "{e}");
    assert!(!shelf.path().exists());
    std::fs::write(shelf.path(), "a file").unwrap();
    assert!(Book::open(&shelf.path(), now()).is_err());
    assert!(Book::create(&shelf.path(), &kitchen(), "", now()).is_err());
    assert_eq!(std::fs::read(shelf.path()).unwrap(), b"a file");
}

#[cfg(unix)]
#[test]
fn folders_with_odd_names_and_behind_links() {
    use std::os::unix::ffi::OsStrExt;
    let scratch = tempfile::tempdir().unwrap();
    let long = "x".repeat(200);
    let odd: [&[u8]; 7] = [
        "Küche Ω 台所".as_bytes(),
        b"with space ",
        b"-rf",
        b"new\nline",
        b"\xff\xfe",
        long.as_bytes(),
        b"deep/er/still",
    ];
    for name in odd {
        let folder = scratch.path().join(std::ffi::OsStr::from_bytes(name));
        let mut book = Book::create(&folder, &kitchen(), "Ωмега", now()).unwrap();
        done(book.record(note("🐖 froth\n\"skimmed\"\t\\ \u{202e}x\u{0}"), "Ωмега", now()));
        let again = Book::open(&folder, now()).unwrap();
        assert_eq!(again.state(), book.state());
        assert_eq!(again.events().unwrap()[1].by, "Ωмега");
    }
    let real = scratch.path().join("real");
    std::fs::create_dir(&real).unwrap();
    let link = scratch.path().join("link");
    std::os::unix::fs::symlink(&real, &link).unwrap();
    let mut book = Book::create(&link, &kitchen(), "", now()).unwrap();
    for n in 0..510 {
        done(book.record(note(&n.to_string()), "", now()));
    }
    let mut through = Book::open(&real, now()).unwrap();
    assert_eq!(through.state(), book.state());
    done(through.record(note("by the other way"), "", now()));
    assert!(book.catch_up().unwrap());
    assert!(real.join("snapshot.json").is_file() && link.is_symlink());
}

#[test]
fn a_newer_book_is_refused_and_not_touched() {
    let shelf = Shelf::new();
    drop(shelf.book());
    let text = String::from_utf8(journal(&shelf.path())).unwrap();
    let (_, rest) = text.split_once('\n').unwrap();
    let header = format!("{{\"format\":{},\"id\":\"x\",\"tent\":[]}}", FORMAT + 1);
    let newer = String::from_utf8(turnday::book::journal::frame(&header)).unwrap();
    // Also with an end that would be cut off if it were ours.
    for tail in ["", "half a li"] {
        let text = format!("{newer}{rest}{tail}");
        std::fs::write(shelf.path().join("journal"), &text).unwrap();
        let before: Vec<_> = std::fs::read_dir(shelf.path()).unwrap().map(|e| e.unwrap().file_name()).collect();
        let e = Book::open(&shelf.path(), now()).unwrap_err();
        assert!(
            matches!(e, Error::Newer { format, .. } if format == FORMAT + 1) && e.to_string().contains("newer turnday"),
            "{e}"
        );
        assert_eq!(journal(&shelf.path()), text.as_bytes());
        let after: Vec<_> = std::fs::read_dir(shelf.path()).unwrap().map(|e| e.unwrap().file_name()).collect();
        assert_eq!(before, after);
    }
    // A whole line of an act that is not known yet: not damage either.
    let event = "{\"seq\":3,\"at\":\"2026-12-05T12:00:00Z\",\"act\":{\"sung\":{}}}";
    let text = [text.as_bytes(), &turnday::book::journal::frame(event)].concat();
    std::fs::write(shelf.path().join("journal"), &text).unwrap();
    assert!(matches!(Book::open(&shelf.path(), now()), Err(Error::NotUnderstood { line: 3, .. })));
    assert_eq!(journal(&shelf.path()), text);
}

#[test]
fn a_clock_set_back_and_another_zone_change_no_order() {
    let shelf = Shelf::new();
    let mut book = shelf.book();
    done(book.record(note("first"), "", now()));
    let back = t("2026-12-01 08:00");
    let act = |text: &str| Act::Note { about: String::new(), text: text.into(), when: back };
    done(book.record(act("second, by a clock set back"), "", back));
    // What happened after the clock's new time is refused, with the reason.
    let e = refused(book.record(note("third"), "", back));
    assert!(e.says.contains("still to come"), "{e}");
    let texts: Vec<String> = book.state().notes.iter().map(|n| n.text.clone()).collect();
    assert_eq!(texts, ["first", "second, by a clock set back"]);
    // The kitchen moves to another zone: instants stay.
    let moved = kitchen().replace("Europe/London", "Pacific/Auckland");
    done(book.record(Act::KitchenChanged { kitchen: moved, says: "moved".into() }, "", now()));
    assert_eq!(book.state().notes[0].mark.when, now());
    assert_eq!(Book::open(&shelf.path(), back).unwrap().state(), book.state());
}

#[test]
fn new_files_are_whole_or_not_there() {
    let scratch = tempfile::tempdir().unwrap();
    let path = scratch.path().join("f");
    files::write_new(&path, b"one").unwrap();
    assert_eq!(files::write_new(&path, b"two").unwrap_err().kind(), std::io::ErrorKind::AlreadyExists);
    assert_eq!(std::fs::read(&path).unwrap(), b"one");
    files::write_whole(&path, b"three").unwrap();
    assert_eq!(std::fs::read(&path).unwrap(), b"three");
    assert!(files::write_whole(&scratch.path().join("no/f"), b"x").is_err());
    assert_eq!(std::fs::read_dir(&scratch).unwrap().count(), 1);
}

#[test]
fn what_a_killed_process_left_lying_is_swept() {
    let shelf = Shelf::new();
    let mut book = shelf.book();
    std::fs::write(shelf.path().join("snapshot.json.4711.part"), "half").unwrap();
    std::fs::write(shelf.path().join("mine.part"), "a person's own").unwrap();
    for n in 0..505 {
        done(book.record(note(&n.to_string()), "", now()));
    }
    assert!(!shelf.path().join("snapshot.json.4711.part").exists());
    assert!(shelf.path().join("mine.part").exists());
}
