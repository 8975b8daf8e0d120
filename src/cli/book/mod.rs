//! The book from the shell: begin it, log, undo, read it, carry it about.

pub mod history;
pub mod keep;
pub mod kitchen;
pub mod log;
pub mod start;
pub mod undo;

use super::Ended;
use crate::book::{Book, Cut, Error, place};
use anyhow::Result;
use std::path::PathBuf;

/// Which book.
#[derive(Debug, Clone, Default, clap::Args)]
pub struct Which {
    /// The book's folder, or its name among the books; else TURNDAY_BOOK, else the only one there is
    #[arg(long, value_name = "DIR")]
    pub book: Option<PathBuf>,
}

/// Opens the book that is meant, and tells of what was cut off.
pub fn open(which: &Which) -> Result<Book> {
    let mut book = Book::open(&place::find(which.book.as_deref())?, crate::clock::now())?;
    tell_cuts(&book.take_cuts());
    Ok(book)
}

pub fn tell_cuts(cuts: &[Cut]) {
    for cut in cuts {
        eprintln!("Mind: {cut}.");
    }
}

/// An act that does not fit the record is refused, with the reason printed; anything else went wrong.
pub(super) fn refused<T>(r: crate::book::Result<T>) -> Result<std::result::Result<T, Ended>> {
    match r {
        Ok(v) => Ok(Ok(v)),
        Err(Error::Refused(r)) => {
            eprintln!("Not recorded: {r}");
            Ok(Err(Ended::Refused))
        }
        Err(e) => Err(e.into()),
    }
}
