//! A whole book as one JSON file, out and in again.

use super::journal::{Header, frame};
use super::{Act, Book, Error, Event, FORMAT, Lock, PATIENCE, Refused, Result, State, files, journal_path};
use chrono::{DateTime, Datelike, Utc};
use serde::{Deserialize, Serialize};
use std::path::Path;

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Export {
    /// Version of the format, the same as the journal's.
    turnday_book: u64,
    id: String,
    events: Vec<Event>,
}

/// The whole book as one JSON text, an event a line.
///
/// # Errors
/// What the system says.
pub fn export(book: &Book) -> Result<String> {
    let mut out = format!("{{\"turnday_book\": {FORMAT}, \"id\": \"{}\", \"events\": [", book.id());
    for (i, e) in book.events()?.iter().enumerate() {
        let says = |e: serde_json::Error| Error::io("export", book.folder())(e.into());
        out += if i == 0 { "\n" } else { ",\n" };
        out += &serde_json::to_string(e).map_err(says)?;
    }
    out += "\n]}\n";
    Ok(out)
}

/// Makes a book of an export, in a folder that has none.
///
/// # Errors
/// When there is a book already, the text is no export, a newer version's, or not a record that holds together.
pub fn import(folder: &Path, text: &str, now: DateTime<Utc>) -> Result<Book> {
    let no_export = |e: &dyn std::fmt::Display| Refused::new(format!("that is no book that was exported: {e}"));
    let value: serde_json::Value = serde_json::from_str(text).map_err(|e| no_export(&e))?;
    if let Some(format) = value.get("turnday_book").and_then(serde_json::Value::as_u64)
        && format > FORMAT
    {
        return Err(Error::Newer { folder: folder.to_owned(), format });
    }
    if !super::journal::shallow(text.as_bytes()) {
        return Err(no_export(&"it is nested deeper than any act").into());
    }
    let export: Export = serde_json::from_str(text).map_err(|e| no_export(&e))?;
    if !(1..=FORMAT).contains(&export.turnday_book) {
        return Err(no_export(&format!("format {} is not known", export.turnday_book)).into());
    }
    if export.id.len() != 16 || !export.id.bytes().all(|b| b.is_ascii_hexdigit()) {
        return Err(no_export(&"its id is not 16 hexadecimal digits").into());
    }
    if let Some((i, e)) = export.events.iter().enumerate().find(|(i, e)| e.seq != *i as u64 + 1) {
        return Err(no_export(&format!("event {} is numbered {}", i + 1, e.seq)).into());
    }
    let happened = |e: &Event| match &e.act {
        Act::Corrected { act, .. } => act.when(),
        act => act.when(),
    };
    let strange =
        |e: &&Event| !e.is_of_this_age() || happened(e).is_some_and(|when| !(2000..2100).contains(&when.year()));
    if let Some(e) = export.events.iter().find(strange) {
        return Err(no_export(&format!("event {} happened in no year of a kitchen", e.seq)).into());
    }
    State::fold(&export.events)?;
    write_book(folder, &Header { format: FORMAT, id: export.id }, &export.events)?;
    Book::open(folder, now)
}

/// Writes a new journal, whole or not at all.
pub(super) fn write_book(folder: &Path, header: &Header, events: &[Event]) -> Result<()> {
    // What cannot be folded is not written.
    State::fold(events)?;
    files::make_folder(folder).map_err(Error::io("make", folder))?;
    let _lock = Lock::take(folder, PATIENCE)?;
    let path = journal_path(folder);
    if path.symlink_metadata().is_ok() {
        return Err(Error::AlreadyThere { folder: folder.to_owned() });
    }
    files::sweep(folder);
    // A snapshot of a journal that is no longer there would not be believed; it is only in the way.
    let _ = std::fs::remove_file(folder.join("snapshot.json"));
    let says = |e: serde_json::Error| Error::io("write", &path)(e.into());
    let mut bytes = frame(&serde_json::to_string(header).map_err(says)?);
    for e in events {
        bytes.extend(frame(&serde_json::to_string(e).map_err(says)?));
    }
    files::write_whole(&path, &bytes).map_err(Error::io("write", &path))
}

/// A name no other book has: from where, what, when, and which process.
pub(super) fn new_id(folder: &Path, kitchen: &str, now: DateTime<Utc>) -> String {
    let where_and_when =
        format!("{} {} {}", folder.display(), now.timestamp_nanos_opt().unwrap_or(0), std::process::id());
    format!("{:08x}{:08x}", crc32fast::hash(where_and_when.as_bytes()), crc32fast::hash(kitchen.as_bytes()))
}
