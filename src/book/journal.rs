//! The journal's lines: `crc32 length json`, the checksum and the length being of the json's bytes.
//!
//! What is not exactly that, from the first bad byte on, is no part of the book.

use super::event::Event;
use serde::{Deserialize, Serialize};

/// The first line of a journal. Its framing never changes, so that any version can read which version wrote it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Header {
    /// Version of the format.
    pub format: u64,
    /// The book's own name among all books, 16 hexadecimal digits; for calendars.
    pub id: String,
}

/// A JSON text as a line of the journal.
pub fn frame(json: &str) -> Vec<u8> {
    debug_assert!(!json.contains('\n'), "JSON is written without line ends");
    format!("{:08x} {} {json}\n", crc32fast::hash(json.as_bytes()), json.len()).into_bytes()
}

/// What stands at the beginning of some bytes.
#[derive(Debug, PartialEq, Eq)]
pub enum Piece<'a> {
    /// A whole line: its JSON, and how many bytes the line takes.
    Line(&'a [u8], usize),
    /// Nothing more.
    End,
    /// Something that is not a whole line.
    Bad,
}

/// Reads one line. Only exactly what [`frame`] writes is a line: a checksum in capitals is not.
pub fn piece(bytes: &[u8]) -> Piece<'_> {
    if bytes.is_empty() {
        return Piece::End;
    }
    whole(bytes).map_or(Piece::Bad, |(json, taken)| Piece::Line(json, taken))
}

fn whole(bytes: &[u8]) -> Option<(&[u8], usize)> {
    let crc = bytes.get(..8)?.iter().try_fold(0u32, |sum, b| {
        let digit = match b {
            b'0'..=b'9' => b - b'0',
            b'a'..=b'f' => b - b'a' + 10,
            _ => return None,
        };
        Some(sum << 4 | u32::from(digit))
    })?;
    if bytes.get(8) != Some(&b' ') {
        return None;
    }
    let digits = bytes[9..].iter().take(12).take_while(|b| b.is_ascii_digit()).count();
    let length: usize = std::str::from_utf8(&bytes[9..9 + digits]).ok()?.parse().ok()?;
    if bytes[9] == b'0' || bytes.get(9 + digits) != Some(&b' ') {
        return None;
    }
    let start = 10 + digits;
    let end = start.checked_add(length)?;
    let json = bytes.get(start..end)?;
    (bytes.get(end) == Some(&b'\n') && crc32fast::hash(json) == crc).then_some((json, end + 1))
}

/// The first line of a journal, and how many bytes it takes. `None` when it is not whole.
pub fn header(bytes: &[u8]) -> Option<(serde_json::Value, usize)> {
    let Piece::Line(json, taken) = piece(bytes) else { return None };
    serde_json::from_slice(json).ok().map(|v| (v, taken))
}

/// The deepest nesting that any act has, with room to spare: a correction holds an act, an act a plan. Whoever reads acts reads no deeper,
/// so that no input exhausts the stack.
const DEEPEST: usize = 24;

/// Whether a JSON text is nested no deeper than acts are.
pub fn shallow(json: &[u8]) -> bool {
    let (mut depth, mut quoted, mut escaped) = (0usize, false, false);
    for b in json {
        match (quoted, b) {
            (true, _) if escaped => escaped = false,
            (true, b'\\') => escaped = true,
            (_, b'"') => quoted = !quoted,
            (false, b'{' | b'[') => depth += 1,
            (false, b'}' | b']') => depth = depth.saturating_sub(1),
            _ => {}
        }
        if depth > DEEPEST {
            return false;
        }
    }
    true
}

/// What came of reading lines.
#[derive(Debug, Default)]
pub struct Scan {
    pub events: Vec<Event>,
    /// Bytes that are whole lines in order.
    pub good: usize,
    /// Where the last whole line begins.
    pub last: usize,
    /// Whether something follows that is not a whole line in order.
    pub bad: bool,
}

/// Reads the events that follow event `after`, up to the end or to the first thing that is not a whole line in order.
///
/// # Errors
/// Number and fault of a line that is whole and yet not understood: a later version's, not damage.
pub fn scan(bytes: &[u8], after: u64) -> Result<Scan, (u64, String)> {
    let mut scan = Scan::default();
    let mut seq = after;
    loop {
        match piece(&bytes[scan.good..]) {
            Piece::End => return Ok(scan),
            Piece::Bad => {
                scan.bad = true;
                return Ok(scan);
            }
            Piece::Line(json, taken) => {
                if !shallow(json) {
                    return Err((seq + 1, "it is nested deeper than any act".to_owned()));
                }
                let event: Event = serde_json::from_slice(json).map_err(|e| (seq + 1, e.to_string()))?;
                if !event.is_of_this_age() {
                    return Err((seq + 1, "it is of no year that a kitchen was in".to_owned()));
                }
                if event.seq != seq + 1 {
                    scan.bad = true;
                    return Ok(scan);
                }
                seq = event.seq;
                scan.events.push(event);
                scan.last = scan.good;
                scan.good += taken;
            }
        }
    }
}

/// How many whole lines stand somewhere in a bad tail, for telling what may be brought back by hand.
pub fn whole_lines_in(tail: &[u8]) -> usize {
    let starts = tail.iter().enumerate().filter(|(_, b)| **b == b'\n').map(|(i, _)| i + 1);
    std::iter::once(0).chain(starts).filter(|s| matches!(piece(&tail[*s..]), Piece::Line(..))).count()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_what_is_written_and_nothing_else() {
        // CRC-32 (ISO-HDLC) of "123456789" is cbf43926: the catalogue's check value.
        let line = frame("123456789");
        assert_eq!(line, b"cbf43926 9 123456789\n");
        assert_eq!(piece(&line), Piece::Line(b"123456789", line.len()));
        for bad in [
            &b"CBF43926 9 123456789\n"[..],
            b"cbf43926 09 123456789\n",
            b"cbf43926 9 123456789",
            b"cbf43926 9 123456789 ",
            b"cbf43926 8 12345678\n",
            b"cbf43926 +9 123456789\n",
            b"cbf43926  123456789\n",
            b"cbf43926 99999999999999999999 1\n",
            b"cbf43926",
            b"cbf43926 ",
            b"\0\0\0\0\0\0\0\0\0\0\0\0",
            b"\n",
        ] {
            assert_eq!(piece(bad), Piece::Bad, "{}", String::from_utf8_lossy(bad));
        }
        assert_eq!(piece(b""), Piece::End);
    }
}
