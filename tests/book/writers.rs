//! Several processes at one book, and processes that are killed in the middle of it.

use super::support::*;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;
use turnday::book::{Act, Book};

/// This test's own program, as a writer: it records so many notes and says after each that it is done.
fn writer(folder: &Path, name: &str, count: usize) -> Child {
    Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "writers::a_writer", "--nocapture", "--test-threads=1"])
        .env("TURNDAY_TEST_WRITER", format!("{name} {count}"))
        .env("TURNDAY_TEST_FOLDER", folder)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

/// No test of its own: what [`writer`] runs.
#[test]
fn a_writer() {
    let (Ok(what), Some(folder)) = (std::env::var("TURNDAY_TEST_WRITER"), std::env::var_os("TURNDAY_TEST_FOLDER"))
    else {
        return;
    };
    let (name, count) = what.split_once(' ').unwrap();
    let mut book = Book::open(Path::new(&folder), now()).unwrap();
    book.set_patience(Duration::from_secs(60));
    // After what it has written in an earlier life.
    let first = book.state().notes.iter().filter(|n| n.text.starts_with(&format!("{name} "))).count();
    for n in first..first + count.parse::<usize>().unwrap() {
        done(book.record(note(&format!("{name} {n}")), name, now()));
        println!("done {n}");
    }
}

/// Numbers of a writer's notes, in the order of the record.
fn numbers(book: &Book, name: &str) -> Vec<usize> {
    let of = |text: &str| text.strip_prefix(name)?.trim().parse().ok();
    book.state().notes.iter().filter_map(|n| of(&n.text)).collect()
}

#[test]
fn two_writers_and_a_reader_none_lost_none_doubled_none_half_seen() {
    let shelf = Shelf::new();
    let mut reader = shelf.book();
    let each = amount("TURNDAY_ACTS", 1500) as usize;
    let mut children: Vec<Child> = ["anna", "bert"].iter().map(|n| writer(&shelf.path(), n, each)).collect();
    let mut looks = 0;
    while children.iter_mut().any(|c| c.try_wait().unwrap().is_none()) {
        reader.catch_up().unwrap();
        looks += 1;
        // Whatever is seen is whole: every writer's notes from its first on, without a gap.
        for name in ["anna", "bert"] {
            let seen = numbers(&reader, name);
            assert!(seen.iter().copied().eq(0..seen.len()), "{name}: {seen:?}");
        }
        assert!(reader.take_cuts().is_empty());
    }
    for c in &mut children {
        assert!(c.wait().unwrap().success());
    }
    reader.catch_up().unwrap();
    for name in ["anna", "bert"] {
        assert!(numbers(&reader, name).into_iter().eq(0..each), "{name}");
    }
    let mut again = Book::open(&shelf.path(), now()).unwrap();
    assert_eq!(again.state(), reader.state());
    assert!(again.take_cuts().is_empty());
    assert_eq!(again.events().unwrap().len(), 2 + 2 * each);
    println!("2 writers, {} acts, {looks} looks", 2 * each);
}

#[test]
fn killed_at_random_moments_nothing_that_was_called_done_is_lost() {
    let shelf = Shelf::new();
    drop(shelf.book());
    let kills = amount("TURNDAY_KILLS", 120);
    let mut dice = Dice::new(amount("TURNDAY_SEED", 1));
    let mut acts = 0;
    for round in 0..kills {
        let mut child = writer(&shelf.path(), "anna", 100_000);
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        // After some acts, and then some time that has nothing to do with them.
        let after = dice.roll(12);
        let mut last = None;
        let number = |l: &str| l.strip_prefix("done ").and_then(|n| n.parse::<usize>().ok());
        while let Some(Ok(l)) = lines.next() {
            last = number(&l).or(last);
            if last.is_some() && acts % (after + 1) == after {
                break;
            }
            acts += 1;
        }
        std::thread::sleep(Duration::from_micros(dice.roll(3000) as u64));
        child.kill().unwrap();
        child.wait().unwrap();
        for l in lines.map_while(Result::ok) {
            last = number(&l).or(last);
        }
        let book = Book::open(&shelf.path(), now()).unwrap_or_else(|e| panic!("round {round}: {e}"));
        let there = numbers(&book, "anna");
        assert!(there.iter().copied().eq(0..there.len()), "round {round}: a gap or a double");
        assert!(
            last.is_none_or(|n| n < there.len()),
            "round {round}: {last:?} was called done, {} are there",
            there.len()
        );
    }
    let book = Book::open(&shelf.path(), now()).unwrap();
    println!("{kills} kills, {} acts", book.state().notes.len());
}

#[test]
fn a_book_that_is_held_says_by_whom_and_what_to_do() {
    let shelf = Shelf::new();
    let mut book = shelf.book();
    book.set_patience(Duration::from_millis(30));
    let lock = turnday::book::Lock::take(&shelf.path(), Duration::ZERO).unwrap();
    let e = book.record(note("x"), "", now()).unwrap_err().to_string();
    assert!(
        e.contains(&std::process::id().to_string()) && e.contains("nothing was recorded") && e.contains("wait"),
        "{e}"
    );
    // Readers wait for nobody.
    assert!(Book::open(&shelf.path(), now()).is_ok() && !book.catch_up().unwrap());
    drop(lock);
    done(book.record(note("x"), "", now()));
    let again = |b: &Book| matches!(b.events().unwrap().last().unwrap().act, Act::Note { .. });
    assert!(again(&book));
}
