//! A book of every format there ever was, kept as it was written, and what it has to come to.

use super::support::*;
use serde_json::json;
use turnday::book::{Book, FORMAT};

#[test]
fn books_of_every_format_open() {
    for format in 1..=FORMAT {
        let kept = root().join(format!("tests/book/format-{format}/journal"));
        let bytes = std::fs::read(&kept).unwrap_or_else(|e| panic!("a book of format {format} has to be kept: {e}"));
        let scratch = tempfile::tempdir().unwrap();
        std::fs::write(scratch.path().join("journal"), &bytes).unwrap();
        let mut book = Book::open(scratch.path(), now()).unwrap();
        assert!(book.take_cuts().is_empty());
        let s = book.state();
        // By hand, from the lines as they stand in the file, which another program (Python, zlib.crc32) wrote from docs/book.md.
        assert_eq!(book.id(), "00c0ffee00c0ffee");
        let more = [0, 2][format as usize - 1];
        assert_eq!((s.seq, s.revision, s.kitchen.joints.len()), (17 + more, 7, 2));
        assert_eq!(s.kitchen.joints[0].planned_weight().as_kg(), 3.4, "26 kg was corrected");
        assert_eq!(s.kitchen.joints[1].planned_weight().as_kg(), 2.1, "undone");
        assert_eq!(s.plan.as_ref().unwrap().json(), "{\"tasks\":[]}");
        let turn = &s.tasks["turn BOX 1"];
        assert_eq!(turn.started.as_ref().unwrap().when, t("2026-12-04 19:00"));
        assert_eq!(turn.finished.as_ref().unwrap().by, "S");
        assert_eq!(s.tasks["turn BOX 2"].skipped.as_ref().unwrap().1, "ill");
        assert_eq!((s.readings.len(), s.notes.len(), s.tastes.len(), s.troubles.len()), (2, 1, 1, 1));
        assert_eq!(s.collected["J2"].celsius, Some(3.8));
        assert_eq!(s.snoozed["turn BOX 3"], t("2026-12-10 20:00"));
        assert_eq!(s.nudged["turn BOX 3"].len(), 1);
        assert_eq!(s.lines["turn BOX 3"].sequence, 0);
        assert_eq!(serde_json::to_value(&s.troubles[0].ruling.to_do).unwrap(), json!(["chill it", "log it"]));
        // Packs came with the second format.
        let lots: Vec<_> = s.lots.iter().map(|l| (l.joint.as_str(), l.packs, l.grams, l.left(), l.over)).collect();
        assert_eq!(lots, [("J2", Some(9), Some(1830.5), Some(7), false)][..format as usize - 1]);
        // And it is written on.
        done(book.record(note("further"), "", now()));
        assert!(journal(scratch.path()).starts_with(&bytes));
    }
}
