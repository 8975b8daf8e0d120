//! The questions of the trade, answered from the screen alone: asked in a state, keys pressed, and the answer looked for in
//! what is drawn. `docs/questions.md` is made from the table; `TURNDAY_BLESS=1 cargo test --test screen questions` renews it.

mod cooking;
mod curing;
mod surprises;
mod table;

use std::fmt::Write;
use std::path::Path;

use self::table::{NOT_YET, Often, Row, table};
use crate::golden::agree;
use crate::walk::{At, FEAST, FIVE, Walk, feast, five, kept, presses, stands};

/// Presses with which all of a view is read on a small screen, from its top to its bottom.
const PAGES: usize = 12;

/// What an answer came to.
struct Seen {
    missing: Vec<&'static str>,
    /// Presses of home and page down after the keys.
    more: usize,
    text: String,
}

/// Asks a question and reads the view from its top until all of the answer has been seen.
fn ask(row: &Row, cols: u16, rows: u16, most: usize) -> Seen {
    let mut walk = Walk::begin(row.at, cols, rows);
    row.keys.iter().for_each(|k| walk.press(k));
    let mut seen = Seen { missing: row.answer.to_vec(), more: 0, text: String::new() };
    loop {
        let text = walk.text();
        seen.missing.retain(|words| !stands(words, &text));
        seen.text += &text;
        if seen.missing.is_empty() || seen.more == most {
            return seen;
        }
        walk.press(if seen.more == 0 { "home" } else { "page down" });
        seen.more += 1;
    }
}

#[test]
fn every_answer_stands_on_the_screen() {
    for row in table() {
        let seen = ask(row, 120, 40, 0);
        assert!(seen.missing.is_empty(), "{}. {} has no {:?} in\n{}", row.number, row.asks, seen.missing, seen.text);
        let (title, _) = row.place.split_once(", ").unwrap_or((row.place, ""));
        assert!(title == "Timeline" || stands(title, &seen.text), "{}. is not in {title}", row.number);
    }
}

#[test]
fn every_answer_is_found_on_a_small_screen() {
    for row in table() {
        let seen = ask(row, 80, 24, PAGES);
        assert!(seen.missing.is_empty(), "{}. {} has no {:?} in\n{}", row.number, row.asks, seen.missing, seen.text);
    }
}

/// What is asked daily is at hand; nothing is far. What has to be told to the program, in words or in a form, is not counted
/// here.
#[test]
fn no_answer_is_far() {
    for row in table().filter(|r| !r.keys.contains(&"ctrl-s")) {
        let keys = row.keys.iter().filter(|k| !k.starts_with('"')).count();
        let most = if row.often == Often::Daily { 4 } else { 5 };
        assert!(keys <= most, "{}. {} takes {keys} keys", row.number, row.asks);
    }
}

#[test]
fn every_question_is_in_the_table_once() {
    let mut all: Vec<u8> = table().map(|r| r.number).chain(NOT_YET.iter().map(|n| n.0)).collect();
    all.sort_unstable();
    assert_eq!(all, (1..=65).collect::<Vec<u8>>());
}

/// The kept plans are plans of their kitchens still, as an independent judge reckons.
#[test]
fn the_kept_plans_hold() {
    for (kitchen, plan) in [(feast(), kept(FEAST)), (five(), kept(FIVE))] {
        let verdict = turnday::plan::judge::judge(&kitchen, &plan);
        assert!(verdict.broken.is_empty(), "{:#?}", verdict.broken);
    }
}

/// Answers are looked for in full: what is not drawn is not found.
#[test]
fn what_does_not_stand_there_is_not_found() {
    let text = "one two three\nfour   five   | plot\nsix\n";
    for words in ["two three four five", "five six", "one two", "four five"] {
        assert!(stands(words, text), "{words}");
    }
    for words in ["two four", "one three", "five seven", "four plot", "six four"] {
        assert!(!stands(words, text), "{words}");
    }
    let ready = table().find(|r| r.number == 25).expect("it is asked");
    let wrong = Row { answer: &["cured enough Sun 20 Dec 09:25"], ..*ready };
    assert_eq!(ask(&wrong, 120, 40, 0).missing.len(), 1);
}

fn keys_words(keys: &[&str]) -> String {
    if keys.is_empty() {
        return "none".to_owned();
    }
    let told = |same: &[&str]| match (same[0].trim_matches('"'), same.len()) {
        (key, 1) => format!("`{key}`"),
        (key, n) => format!("`{key}` × {n}"),
    };
    keys.chunk_by(|a, b| a == b).map(told).collect::<Vec<_>>().join(" ")
}

fn page() -> String {
    let mut counts: Vec<usize> = table().map(|r| presses(r.keys)).collect();
    counts.sort_unstable();
    let (median, most) = (counts[counts.len() / 2], counts[counts.len() - 1]);
    let mut out = format!(
        "# Questions\n\n\
         What people ask, and where the answer stands on the screen. {} of {} are answered from the screen alone, with {median} press{} at \
         the median and {most} at most (what is typed counts letter by letter). The presses are from the view the program opens on.\n\n\
         A test (`tests/screen/questions/`) asks them all: it presses the keys, looks for the answer in what is drawn at 120 columns \
         and 40 rows, and at 80 and 24, and keeps this page fresh.\n\nThey are asked of\n\n",
        counts.len(),
        counts.len() + NOT_YET.len(),
        if median == 1 { "" } else { "es" },
    );
    for at in At::ALL {
        let (word, says) = at.words();
        let _ = writeln!(out, "- **{word}**: {says}.");
    }
    let groups: [(&str, std::ops::RangeInclusive<u8>); 7] = [
        ("Before there is any pork", 1..=11),
        ("Collection and putting down", 12..=20),
        ("While it cures", 21..=31),
        ("Cooking", 32..=42),
        ("Packing and freezing", 43..=48),
        ("Eating, selling, looking back", 49..=60),
        ("When plans change", 61..=65),
    ];
    for (head, numbers) in groups {
        let _ = write!(
            out,
            "\n## {head}\n\n| | question | asked | of | keys | presses | at 80 × 24 | where | the answer there |\n|---|---|---|---|---|---|---|---|---|\n"
        );
        for r in table().filter(|r| numbers.contains(&r.number)) {
            let n = presses(r.keys);
            let _ = writeln!(
                out,
                "| {} | {} | {} | {} | {} | {n} | {} | {} | {} |",
                r.number,
                r.asks,
                r.often.words(),
                r.at.words().0,
                keys_words(r.keys),
                n + ask(r, 80, 24, PAGES).more,
                r.place,
                r.answer.join(" · ")
            );
        }
    }
    out += "\n## Not from the screen\n\n| | question | what there is |\n|---|---|---|\n";
    for (number, asks, instead) in NOT_YET {
        let _ = writeln!(out, "| {number} | {asks} | {instead} |");
    }
    out
}

#[test]
fn the_page_is_made_from_the_table() {
    agree(Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/questions.md"), &page());
}
