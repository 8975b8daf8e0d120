//! The snapshot: the fold of the journal up to some byte, kept so that a long book opens fast. It only saves time: it is believed only
//! when it fits the journal's own bytes, and without it everything is read from the journal.

use super::files::{sweep, write_whole};
use super::state::State;
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};

/// A fold is kept anew after this many further events.
pub(super) const EVERY: u64 = 500;

#[derive(Serialize, Deserialize)]
struct Head {
    /// The program that wrote it: another version folds anew.
    by: String,
    /// Bytes of the journal that it is the fold of, where the last line in them begins, and their checksum.
    bytes: usize,
    last: usize,
    crc: u32,
    state: State,
}

fn path(folder: &Path) -> PathBuf {
    folder.join("snapshot.json")
}

const BY: &str = concat!("turnday ", env!("CARGO_PKG_VERSION"), " fold 3");

/// The fold of the first bytes of this journal, how many bytes, and where the last line of them begins; if one is kept and fits.
pub(super) fn read(folder: &Path, journal: &[u8]) -> Option<(State, usize, usize)> {
    let bytes = std::fs::read(path(folder)).ok()?;
    // A checksum of its own: a flipped bit in it must not be believed.
    let (crc, json) = bytes.split_at_checked(9)?;
    if crc != format!("{:08x}\n", crc32fast::hash(json)).as_bytes() {
        return None;
    }
    let head: Head = serde_json::from_slice(json).ok()?;
    let covered = journal.get(..head.bytes)?;
    (head.by == BY && crc32fast::hash(covered) == head.crc).then_some((head.state, head.bytes, head.last))
}

/// Keeps a fold. Called with the lock held. That it fails harms nothing.
pub(super) fn write(folder: &Path, state: &State, journal: &[u8], last: usize) -> Option<()> {
    sweep(folder);
    let crc = crc32fast::hash(journal);
    let head = Head { by: BY.to_owned(), bytes: journal.len(), last, crc, state: state.clone() };
    let json = serde_json::to_vec(&head).ok()?;
    let mut bytes = format!("{:08x}\n", crc32fast::hash(&json)).into_bytes();
    bytes.extend(json);
    write_whole(&path(folder), &bytes).ok()
}
