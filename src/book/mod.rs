//! The book: an append-only record of what was planned and what was done. From it come the state, the undo, the replan and the
//! inspector's page.
//!
//! One folder a kitchen. `journal` holds one event a line ([`journal`]), flushed to disk before an act is called done; the [`State`]
//! is the fold of its events, and `snapshot.json` only saves time. Corrections are new events, never rewrites. Writers take a lock
//! on a separate file; the screen, the nudger and the commands may all run at once, each following the others' events with
//! [`Book::catch_up`]. The format is described in `docs/book.md`.

mod error;
mod event;
pub mod files;
mod fits;
pub mod journal;
pub mod labels;
mod lines;
mod lock;
mod packs;
pub mod place;
mod snapshot;
mod state;
mod stays;
mod transfer;
mod undo;

pub use error::{Error, Refused, Result};
pub use event::{Act, Event, PlanLine, RawPlan, ReadingOf, RulingRecord, TaskAct};
pub use lines::Lines;
pub use lock::{Lock, PATIENCE};
pub use packs::{Gone, Lot, Lots, TakenRecord};
pub use state::{
    CollectedRecord, LineRecord, Mark, NoteRecord, ReadingRecord, State, TaskRecord, TasteRecord, TroubleRecord,
    WeightRecord,
};
pub use stays::{Past, is_cut};
pub use transfer::{export, import};
pub use undo::Reversed;

use chrono::{DateTime, Utc};
use fits::Fit;
use journal::{Header, Scan, frame, scan};
use std::fs::File;
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// The version of the journal's format that this program writes, and the newest it reads.
pub const FORMAT: u64 = 2;

/// A tail that was no part of the book.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cut {
    /// Bytes that were cut off.
    pub bytes: usize,
    /// Whole lines that stand in it behind the damage: what may be brought back by hand.
    pub whole_lines: usize,
    /// The file it is kept in; nothing while it could not be moved aside (then it is still in the journal, and not read).
    pub kept: Option<PathBuf>,
    /// The last event that is whole.
    pub last: u64,
}

impl std::fmt::Display for Cut {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "the journal was damaged behind line {}: {} bytes were cut off", self.last, self.bytes)?;
        match &self.kept {
            Some(p) => write!(f, " and kept in {}", p.display())?,
            None => f.write_str(" in reading, and could not be moved aside")?,
        }
        if self.whole_lines > 0 {
            write!(f, "; {} whole lines are in there, see docs/book.md for bringing them back", self.whole_lines)?;
        }
        Ok(())
    }
}

/// How an act was recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Recorded {
    /// The line it stands on; 0 for a nudge that was sent before.
    pub seq: u64,
    /// It stood there already and was not written again.
    pub already: bool,
}

/// An open book.
#[derive(Debug)]
pub struct Book {
    folder: PathBuf,
    header: Header,
    state: State,
    /// Bytes of the journal that the state is the fold of.
    read: usize,
    /// Where the last of those lines begins.
    last: usize,
    /// Tails cut off since they were last asked for.
    cuts: Vec<Cut>,
    /// The event up to which a snapshot is kept.
    kept: u64,
    patience: Duration,
}

fn journal_path(folder: &Path) -> PathBuf {
    folder.join("journal")
}

impl Book {
    /// Begins a book with a kitchen file's text. The folder is made if it is not there.
    ///
    /// # Errors
    /// When there is a book already, the kitchen cannot be read, or the system says so.
    pub fn create(folder: &Path, kitchen: &str, by: &str, now: DateTime<Utc>) -> Result<Self> {
        let act = Act::Started { kitchen: kitchen.to_owned() };
        let event = Event { seq: 1, at: now, by: by.to_owned(), act };
        let id = transfer::new_id(folder, kitchen, now);
        transfer::write_book(folder, &Header { format: FORMAT, id }, &[event])?;
        Self::open(folder, now)
    }

    /// Opens a book: up to the longest true beginning of its journal. What comes behind is moved aside, see [`Book::take_cuts`].
    ///
    /// # Errors
    /// When there is none, it is of a newer version, not even its first lines are whole, or the system says so.
    pub fn open(folder: &Path, now: DateTime<Utc>) -> Result<Self> {
        let (mut book, bad) = Self::read(folder)?;
        if bad {
            // Perhaps somebody is writing at this very moment; with the lock in hand it is damage.
            match Lock::take(folder, book.patience) {
                Ok(lock) => {
                    book.reload(folder)?;
                    book.cut_tail(&lock, now)?;
                }
                Err(e @ Error::Busy { .. }) => return Err(e),
                // A folder that cannot be written is read all the same.
                Err(_) => {
                    let bytes = Self::bytes_of(folder)?;
                    let cut = book.tail_of(&bytes);
                    book.cuts.push(cut);
                }
            }
        }
        Ok(book)
    }

    fn bytes_of(folder: &Path) -> Result<Vec<u8>> {
        let path = journal_path(folder);
        std::fs::read(&path).map_err(|e| match e.kind() {
            std::io::ErrorKind::NotFound | std::io::ErrorKind::NotADirectory => {
                Error::NoBook { folder: folder.to_owned() }
            }
            _ => Error::io("read", &path)(e),
        })
    }

    /// Reads a journal without changing anything; and whether something bad comes behind what was read.
    fn read(folder: &Path) -> Result<(Self, bool)> {
        let bytes = Self::bytes_of(folder)?;
        let no_beginning = || Error::NoBeginning { folder: folder.to_owned() };
        let (value, head) = journal::header(&bytes).ok_or_else(no_beginning)?;
        match value.get("format").and_then(serde_json::Value::as_u64) {
            Some(1..=FORMAT) => {}
            Some(format) if format > FORMAT => return Err(Error::Newer { folder: folder.to_owned(), format }),
            _ => return Err(no_beginning()),
        }
        let header: Header = serde_json::from_value(value).map_err(|_| no_beginning())?;
        let not_understood =
            |(line, says): (u64, String)| Error::NotUnderstood { folder: folder.to_owned(), line, says };
        let refused = |r: Refused| not_understood((1, r.says));
        let new = |state, read, last, kept| Self {
            folder: folder.to_owned(),
            header,
            state,
            read,
            last,
            cuts: Vec::new(),
            kept,
            patience: PATIENCE,
        };
        if let Some((state, covered, last)) = snapshot::read(folder, &bytes) {
            let tail = scan(&bytes[covered..], state.seq).map_err(not_understood)?;
            let bad = tail.bad;
            let kept = state.seq;
            let mut book = new(state, covered, last, kept);
            book.take_in(&tail)?;
            return Ok((book, bad));
        }
        let Scan { events, good, last, bad } = scan(&bytes[head..], 0).map_err(not_understood)?;
        if events.is_empty() {
            return Err(no_beginning());
        }
        let state = State::fold(&events).map_err(refused)?;
        Ok((new(state, head + good, head + last, 0), bad))
    }

    fn reload(&mut self, folder: &Path) -> Result<()> {
        let (fresh, _) = Self::read(folder)?;
        let (cuts, patience) = (std::mem::take(&mut self.cuts), self.patience);
        *self = Self { cuts, patience, ..fresh };
        Ok(())
    }

    /// Folds what was read behind what is known.
    fn take_in(&mut self, tail: &Scan) -> Result<()> {
        if tail.events.is_empty() {
            return Ok(());
        }
        if tail.events.iter().any(|e| state::looks_back(&e.act)) {
            let mut all = self.events()?;
            all.extend(tail.events.iter().cloned());
            let line = self.state.seq;
            self.state = State::fold(&all).map_err(|r| Error::NotUnderstood {
                folder: self.folder.clone(),
                line,
                says: r.says,
            })?;
        } else {
            // When this fails the state no longer fits where it was read to, and is read anew next time.
            self.state.extend(&tail.events).map_err(|r| Error::NotUnderstood {
                folder: self.folder.clone(),
                line: tail.events.last().map_or(0, |e| e.seq),
                says: r.says,
            })?;
        }
        (self.last, self.read) = (self.read + tail.last, self.read + tail.good);
        Ok(())
    }

    /// What lies behind what was read, in a journal's bytes.
    fn tail_of(&self, bytes: &[u8]) -> Cut {
        let tail = bytes.get(self.read..).unwrap_or_default();
        let whole_lines = journal::whole_lines_in(tail);
        Cut { bytes: tail.len(), whole_lines, kept: None, last: self.state.seq }
    }

    /// Moves a bad tail aside: first it is written whole to a file of its own, then the journal is shortened.
    fn cut_tail(&mut self, _lock: &Lock, now: DateTime<Utc>) -> Result<()> {
        let bytes = Self::bytes_of(&self.folder)?;
        let mut cut = self.tail_of(&bytes);
        if cut.bytes == 0 {
            return Ok(());
        }
        let tail = &bytes[self.read..];
        let stem = format!("cut-{}", now.format("%Y%m%dT%H%M%SZ"));
        let names = std::iter::once(stem.clone()).chain((2..).map(|n| format!("{stem}-{n}")));
        for name in names {
            let path = self.folder.join(name);
            match files::write_new(&path, tail) {
                Ok(()) => cut.kept = Some(path),
                Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => continue,
                Err(e) => return Err(Error::io("write", &path)(e)),
            }
            break;
        }
        let path = journal_path(&self.folder);
        let shorten = || {
            let f = File::options().write(true).open(&path)?;
            f.set_len(self.read as u64)?;
            f.sync_all()
        };
        shorten().map_err(Error::io("shorten", &path))?;
        self.cuts.push(cut);
        Ok(())
    }

    /// Follows what others have written. Whether anything was new. Takes no lock: a line that is being written is left for next time.
    ///
    /// # Errors
    /// What the system says, or a line of a later version.
    pub fn catch_up(&mut self) -> Result<bool> {
        let path = journal_path(&self.folder);
        let length = std::fs::metadata(&path).map_err(Error::io("read", &path))?.len();
        if length == self.read as u64 {
            return Ok(false);
        }
        let before = (self.state.seq, self.read);
        self.follow()?;
        Ok(before != (self.state.seq, self.read))
    }

    /// Reads on from where it was left; from the beginning if what was there has changed.
    fn follow(&mut self) -> Result<bool> {
        let path = journal_path(&self.folder);
        let tail = || {
            let mut f = File::open(&path)?;
            f.seek(SeekFrom::Start(self.last as u64))?;
            let mut bytes = Vec::new();
            f.read_to_end(&mut bytes)?;
            Ok(bytes)
        };
        let bytes = tail().map_err(Error::io("read", &path))?;
        // The last line that was read must still be there and end where it ended.
        let same = scan(&bytes, self.state.seq - 1).map_err(|(line, says)| Error::NotUnderstood {
            folder: self.folder.clone(),
            line,
            says,
        })?;
        let skip = self.read - self.last;
        let first =
            !same.events.is_empty() && matches!(journal::piece(&bytes), journal::Piece::Line(_, n) if n == skip);
        if !first {
            let folder = self.folder.clone();
            self.reload(&folder)?;
            return Ok(Self::bytes_of(&folder)?.len() > self.read);
        }
        let new = Scan {
            events: same.events[1..].to_vec(),
            good: same.good - skip,
            last: same.last.saturating_sub(skip),
            bad: same.bad,
        };
        self.take_in(&new)?;
        Ok(same.bad)
    }

    /// Records an act: takes the lock, follows the others, judges the act by what is there now, appends it, and returns when it is on
    /// the disk. An act that stands there already is not written again.
    ///
    /// # Errors
    /// [`Error::Refused`] when it does not fit; otherwise what the system says. The act is then not recorded, and can be done again.
    pub fn record(&mut self, act: Act, by: &str, now: DateTime<Utc>) -> Result<Recorded> {
        let lock = Lock::take(&self.folder, self.patience)?;
        self.catch_up_locked(&lock, now)?;
        match self.state.fits(&act, now)? {
            Fit::Already(seq) => Ok(Recorded { seq, already: true }),
            Fit::New => self.append(&lock, act, by, now).map(|seq| Recorded { seq, already: false }),
        }
    }

    fn catch_up_locked(&mut self, lock: &Lock, now: DateTime<Utc>) -> Result<()> {
        if self.follow()? {
            self.cut_tail(lock, now)?;
        }
        Ok(())
    }

    fn append(&mut self, _lock: &Lock, act: Act, by: &str, now: DateTime<Utc>) -> Result<u64> {
        let event = Event { seq: self.state.seq + 1, at: now, by: by.trim().to_owned(), act };
        let path = journal_path(&self.folder);
        let json = serde_json::to_string(&event)
            .map_err(|e| Error::io("write", &path)(std::io::Error::new(std::io::ErrorKind::InvalidInput, e)))?;
        let line = frame(&json);
        let mut file = File::options().append(true).open(&path).map_err(Error::io("open", &path))?;
        let write = |f: &mut File| {
            f.write_all(&line)?;
            // Done is said only of what a power cut cannot take away.
            f.sync_data()
        };
        if let Err(e) = write(&mut file) {
            // Taken back, so that what was not called done is not there either. If that fails too, the next writer finds a torn
            // line and moves it aside, or a whole one.
            let _ = file.set_len(self.read as u64).and_then(|()| file.sync_data());
            return Err(Error::io("write", &path)(e));
        }
        let seq = event.seq;
        let scan = Scan { events: vec![event], good: line.len(), last: 0, bad: false };
        self.take_in(&scan)?;
        if seq >= self.kept + snapshot::EVERY {
            self.keep_snapshot();
        }
        Ok(seq)
    }

    fn keep_snapshot(&mut self) {
        // Tried again only after as many events, also when it fails.
        self.kept = self.state.seq;
        let Ok(bytes) = Self::bytes_of(&self.folder) else { return };
        if let Some(covered) = bytes.get(..self.read) {
            snapshot::write(&self.folder, &self.state, covered, self.last);
        }
    }

    pub fn state(&self) -> &State {
        &self.state
    }

    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The book's own name among all books, 16 hexadecimal digits; the same after export and import.
    pub fn id(&self) -> &str {
        &self.header.id
    }

    /// Every event so far, read from the journal.
    ///
    /// # Errors
    /// What the system says.
    pub fn events(&self) -> Result<Vec<Event>> {
        let bytes = Self::bytes_of(&self.folder)?;
        let gone = || Error::NoBeginning { folder: self.folder.clone() };
        let (_, head) = journal::header(&bytes).ok_or_else(gone)?;
        let known = bytes.get(head..self.read).ok_or_else(gone)?;
        let not_understood = |(line, says)| Error::NotUnderstood { folder: self.folder.clone(), line, says };
        Ok(scan(known, 0).map_err(not_understood)?.events)
    }

    /// Tails that were cut off since this was last asked: to be told to a person.
    pub fn take_cuts(&mut self) -> Vec<Cut> {
        std::mem::take(&mut self.cuts)
    }

    /// How long to wait for another writer.
    pub fn set_patience(&mut self, patience: Duration) {
        self.patience = patience;
    }
}
