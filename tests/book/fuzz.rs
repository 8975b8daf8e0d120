//! Every reader of what a person or a disk gives, fed with mutated bytes: nothing panics, and what is read is whole.
//!
//! `TURNDAY_FUZZ` executions of each reader at least, and `TURNDAY_FUZZ_SECONDS` of each; the count is printed. A failing input is
//! printed with its seed.

use super::support::*;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::{Duration, Instant};
use turnday::app::acts;
use turnday::book::{Book, Event, State, import, journal as lines};
use turnday::kitchen::spoken::{self, Here, Lean};
use turnday::plan::Plan;

/// Bytes that are like the samples and yet not: cut, doubled, flipped, spliced, with words put in.
fn mutated(samples: &[Vec<u8>], words: &[&str], dice: &mut Dice) -> Vec<u8> {
    let mut out = samples[dice.roll(samples.len())].clone();
    for _ in 0..=dice.roll(4) {
        let at = dice.roll(out.len() + 1);
        match dice.roll(8) {
            0 => out.truncate(at),
            1 if at < out.len() => out[at] ^= 1 << dice.roll(8),
            2 if at < out.len() => out[at] = dice.roll(256) as u8,
            3 => drop(out.splice(at..at, words[dice.roll(words.len())].bytes())),
            4 => {
                let end = (at + dice.roll(40)).min(out.len());
                out.drain(at..end);
            }
            5 => {
                let end = (at + dice.roll(40)).min(out.len());
                let piece = out[at..end].to_vec();
                out.splice(at..at, piece);
            }
            6 => {
                let other = &samples[dice.roll(samples.len())];
                let from = dice.roll(other.len() + 1);
                out.truncate(at);
                out.extend(&other[from..]);
            }
            _ => drop(out.splice(at..at, [dice.roll(256) as u8])),
        }
    }
    out
}

/// Runs a reader on mutated samples for as long as asked.
fn fuzz(name: &str, samples: &[Vec<u8>], words: &[&str], read: impl Fn(&[u8])) {
    let seed = amount("TURNDAY_SEED", 1);
    let (least, time) = (amount("TURNDAY_FUZZ", 1500), Duration::from_secs(amount("TURNDAY_FUZZ_SECONDS", 0)));
    let (mut dice, begun, mut runs) = (Dice::new(seed), Instant::now(), 0u64);
    for s in samples {
        read(s);
    }
    while runs < least || begun.elapsed() < time {
        let input = mutated(samples, words, &mut dice);
        if catch_unwind(AssertUnwindSafe(|| read(&input))).is_err() {
            panic!("{name}: run {runs} of seed {seed} failed on {:?}", String::from_utf8_lossy(&input));
        }
        runs += 1;
    }
    println!("fuzzed {name}: {runs} executions, seed {seed}");
}

fn a_book() -> (Shelf, Book) {
    let shelf = Shelf::new();
    let mut book = shelf.book();
    done(book.record(weighed("J1", 3400.0), "S", now()));
    done(book.record(turned("turn BOX 1", "2026-12-04 19:00"), "S", now()));
    done(book.record(note("froth"), "", now()));
    book.undo(None, "", now()).unwrap();
    (shelf, book)
}

#[test]
fn the_journal() {
    let (shelf, book) = a_book();
    let whole = journal(&shelf.path());
    let events = book.events().unwrap();
    let kept = std::fs::read(root().join("tests/book/format-1/journal")).unwrap();
    let folder = quick_folder();
    let dice = std::cell::RefCell::new(Dice::new(7));
    fuzz("the journal", &[whole, kept], &["\n", " ", "00000000 2 {}\n", "{\"format\":9}", "\0\0\0\0"], |bytes| {
        if let Some((_, head)) = lines::header(bytes)
            && let Ok(scan) = lines::scan(&bytes[head..], 0)
        {
            assert!(scan.events.iter().enumerate().all(|(i, e)| e.seq == i as u64 + 1));
            let _ = State::fold(&scan.events);
        }
        // Some of them from a disk, and twice: what the first opening left must open the same.
        if dice.borrow_mut().roll(8) == 0 {
            std::fs::write(folder.path().join("journal"), bytes).unwrap();
            if let Ok(first) = Book::open(folder.path(), now()) {
                let mut second = Book::open(folder.path(), now()).unwrap();
                assert!(second.take_cuts().is_empty());
                assert_eq!(first.state(), second.state());
            }
            for e in std::fs::read_dir(folder.path()).unwrap() {
                std::fs::remove_file(e.unwrap().path()).unwrap();
            }
        }
    });
    // Lines with a true checksum and strange content: what no damage makes, but another program could.
    let texts: Vec<Vec<u8>> = events.iter().map(|e| serde_json::to_vec(e).unwrap()).collect();
    fuzz("events", &texts, &["null", "1e999", "-1", "18446744073709551615", "\"\"", "[]", "{}", "\\u0000"], |json| {
        let Ok(event) = serde_json::from_slice::<Event>(json) else { return };
        let text = serde_json::to_string(&event).unwrap();
        assert_eq!(serde_json::from_str::<Event>(&text).unwrap(), event, "written and read again it is the same");
        let mut all = events[..2].to_vec();
        all.push(Event { seq: 3, ..event });
        if let Ok(state) = State::fold(&all) {
            let again: State = serde_json::from_str(&serde_json::to_string(&state).unwrap()).unwrap();
            assert_eq!(again, state);
            acts::rows(&all, &state, &acts::Filter::default(), state.kitchen.zone);
        }
    });
}

#[test]
fn exports() {
    let (_shelf, book) = a_book();
    let text = turnday::book::export(&book).unwrap();
    let scratch = quick_folder();
    fuzz("exports", &[text.into_bytes()], &["null", "\"seq\":1", "\"turnday_book\": 2", "[]", "{}"], |bytes| {
        let Ok(text) = std::str::from_utf8(bytes) else { return };
        let folder = scratch.path().join("b");
        if let Ok(book) = import(&folder, text, now()) {
            assert!(Book::open(&folder, now()).unwrap().state() == book.state());
            std::fs::remove_dir_all(&folder).unwrap();
        } else {
            assert!(!folder.join("journal").exists());
        }
    });
}

#[test]
fn words_of_the_log() {
    let (_shelf, book) = a_book();
    let samples: Vec<Vec<u8>> = acts::EXAMPLES
        .iter()
        .map(|e| e.replace("T1", "BOX").replace("shank", "J1").replace("low shelf", "Fridge, top").into_bytes())
        .chain(
            ["12-14 Mar", "Fri 15:00 to Sun 19:00", "in 3 days", "2026-12-04T19:00", "7 lb 8 oz"]
                .map(|s| s.as_bytes().to_vec()),
        )
        .collect();
    let zone = book.state().kitchen.zone;
    let words = [
        " ",
        ":",
        " by S",
        "yesterday",
        "19:00",
        "turn BOX 3",
        "J2",
        "BOX",
        "99999999999",
        "-",
        "°",
        "ago",
        "İ",
        "\u{301}",
    ];
    fuzz("the log's words", &samples, &words, |bytes| {
        let text = String::from_utf8_lossy(bytes);
        for lean in [Lean::Back, Lean::Ahead] {
            let here = Here { now: now(), zone, lean };
            let at = spoken::moment(&text, here).ok();
            let _ = spoken::range(&text, here);
            for m in acts::understand(&text, book.state(), here, at.as_ref()).into_iter().flatten() {
                assert!(!acts::tell(&m.act, &[]).is_empty());
            }
        }
        let _ = (spoken::weight(&text, None), spoken::temperature(&text));
    });
}

#[test]
fn kitchens_and_plans() {
    let samples: Vec<Vec<u8>> = ["small", "minimal", "comments"]
        .map(|n| std::fs::read(root().join(format!("tests/kitchen/good/{n}.json"))).unwrap())
        .to_vec();
    let today = now().date_naive();
    fuzz(
        "kitchen files",
        &samples,
        &["null", "1e999", "\"26\"", "//", "{", "]", "\"2026-02-30\"", "\u{feff}"],
        |bytes| {
            let text = String::from_utf8_lossy(bytes);
            let reading = turnday::kitchen::read("k", &text).judge(today);
            let _ = (reading.to_text(false), reading.to_json());
            if let Some(k) = reading.kitchen {
                let text = serde_json::to_string(&k).unwrap();
                assert_eq!(
                    turnday::kitchen::read("k", &text).kitchen.as_ref(),
                    Some(&k),
                    "written and read again it is the same"
                );
            }
        },
    );
    let kitchen = turnday::kitchen::read("k", &kitchen()).kitchen.unwrap();
    let request = turnday::plan::Request { kitchen: &kitchen, now: now(), seed: 1, promises: Default::default() };
    let plan = turnday::plan::strike(&request, &turnday::schedule::NodeBudget(20), &mut |_| ()).unwrap();
    let sample = serde_json::to_vec(&plan).unwrap();
    fuzz(
        "plan files",
        &[sample],
        &["null", "-1", "\"turn\"", "[]", "1e9", "2026-12-04T19:00:00Z", "9999-12-31T23:59:59+00:00"],
        |bytes| {
            let Ok(plan) = serde_json::from_slice::<Plan>(bytes) else { return };
            let act = acts::accepted(&plan, "", 0).unwrap();
            assert!(matches!(act, turnday::book::Act::PlanAccepted { .. }));
            let _ = turnday::plan::judge::judge(&kitchen, &plan);
        },
    );
}
