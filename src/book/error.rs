//! What can go wrong with a book, and what a person can do about it.

use std::fmt;
use std::path::{Path, PathBuf};
use std::time::Duration;

pub type Result<T> = std::result::Result<T, Error>;

#[derive(Debug)]
pub enum Error {
    /// The system would not let us.
    Io { doing: &'static str, path: PathBuf, source: std::io::Error },
    /// There is no book in that folder.
    NoBook { folder: PathBuf },
    /// There is one already, and it is not overwritten.
    AlreadyThere { folder: PathBuf },
    /// Written by a later version of the program. Nothing was touched.
    Newer { folder: PathBuf, format: u64 },
    /// Not even the first lines are whole, so there is nothing to open. Nothing was touched.
    NoBeginning { folder: PathBuf },
    /// A line is whole but says something this version does not know. Nothing was touched.
    NotUnderstood { folder: PathBuf, line: u64, says: String },
    /// Somebody else keeps on writing.
    Busy { folder: PathBuf, holder: String, waited: Duration },
    /// The act does not fit the record.
    Refused(Refused),
}

/// Why an act was not recorded.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    pub says: String,
    /// What may have been meant.
    pub near: Vec<String>,
}

impl Refused {
    pub fn new(says: impl Into<String>) -> Self {
        Self { says: says.into(), near: Vec::new() }
    }
}

impl From<Refused> for Error {
    fn from(r: Refused) -> Self {
        Self::Refused(r)
    }
}

impl Error {
    pub(super) fn io(doing: &'static str, path: &Path) -> impl FnOnce(std::io::Error) -> Self {
        let path = path.to_owned();
        move |source| Self::Io { doing, path, source }
    }
}

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.says)?;
        match self.near.as_slice() {
            [] => Ok(()),
            [one] => write!(f, "; did you mean \"{one}\"?"),
            several => write!(f, "; did you mean one of: {}?", several.join(", ")),
        }
    }
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Io { doing, path, source } => {
                write!(f, "cannot {doing} {}: {source}", path.display())?;
                match source.kind() {
                    std::io::ErrorKind::StorageFull | std::io::ErrorKind::QuotaExceeded => {
                        f.write_str("; nothing was recorded: make room, then do it again")
                    }
                    std::io::ErrorKind::PermissionDenied | std::io::ErrorKind::ReadOnlyFilesystem => {
                        f.write_str("; nothing was recorded: make the folder writable, or name another with --book")
                    }
                    _ => Ok(()),
                }
            }
            Self::NoBook { folder } => {
                write!(f, "there is no book in {}; `turnday start KITCHEN` begins one", folder.display())
            }
            Self::AlreadyThere { folder } => write!(
                f,
                "there is a book in {} already, and it is not overwritten; `turnday book kitchen FILE` takes a changed kitchen or the next batch into \
                 it, --book names another folder",
                folder.display()
            ),
            Self::Newer { folder, format } => write!(
                f,
                "the book in {} is of format {format}, and this program reads up to {}; it was not touched: use the \
                 newer turnday that wrote it",
                folder.display(),
                super::FORMAT
            ),
            Self::NoBeginning { folder } => write!(
                f,
                "the journal in {} is damaged in its first lines, so nothing can be made of it; it was not touched: \
                 bring back a copy, or begin anew from an export with `turnday book import`",
                folder.display()
            ),
            Self::NotUnderstood { folder, line, says } => write!(
                f,
                "line {line} of the journal in {} is whole but this program does not understand it ({says}); it was not \
                 touched: use the turnday that wrote it",
                folder.display()
            ),
            Self::Busy { folder, holder, waited } => write!(
                f,
                "the book in {} has been held by another turnday{holder} for {:.0} s; nothing was recorded: wait for it to \
                 finish, or end it, then do it again",
                folder.display(),
                waited.as_secs_f64()
            ),
            Self::Refused(r) => r.fmt(f),
        }
    }
}

impl std::error::Error for Refused {}

impl std::error::Error for Error {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Io { source, .. } => Some(source),
            _ => None,
        }
    }
}
