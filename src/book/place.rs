//! Where books are: one folder a kitchen, in the data folder of the XDG Base Directory Specification unless told otherwise.

use etcetera::{BaseStrategy, choose_base_strategy};
use std::path::{Path, PathBuf};

/// The environment variable that names the book when no `--book` does.
pub const VARIABLE: &str = "TURNDAY_BOOK";

/// Why it is not clear which book is meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unclear {
    /// There is none.
    None { looked_in: Option<PathBuf> },
    /// There are several: their folders.
    Several(Vec<PathBuf>),
}

impl std::fmt::Display for Unclear {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::None { looked_in: Some(folder) } => {
                write!(f, "there is no book in {}; `turnday start KITCHEN` begins one", folder.display())
            }
            Self::None { looked_in: None } => {
                write!(f, "there is no home folder to look for books in; name one with --book or {VARIABLE}")
            }
            Self::Several(all) => {
                let names: Vec<String> = all.iter().map(|p| name(p)).collect();
                write!(f, "there are {} books; name one with --book or {VARIABLE}: {}", all.len(), names.join(", "))
            }
        }
    }
}

impl std::error::Error for Unclear {}

fn name(folder: &Path) -> String {
    folder.file_name().unwrap_or(folder.as_os_str()).to_string_lossy().into_owned()
}

/// The folder all books are in: `$XDG_DATA_HOME/turnday`, or `~/.local/share/turnday`.
pub fn shelf() -> Option<PathBuf> {
    choose_base_strategy().ok().map(|s| s.data_dir().join("turnday"))
}

/// A kitchen's name as the name of a folder: letters and figures in lower case, everything else a dash.
pub fn slug(kitchen: &str) -> String {
    let mut out = String::new();
    for c in kitchen.chars().flat_map(char::to_lowercase) {
        // A combining mark belongs to its letter; file names are at most 255 bytes.
        if out.len() >= 80 {
            break;
        }
        if c.is_alphanumeric() {
            out.push(c);
        } else if !out.is_empty() && !out.ends_with('-') {
            out.push('-');
        }
    }
    let out = out.trim_end_matches('-');
    if out.is_empty() { "kitchen".to_owned() } else { out.to_owned() }
}

/// A folder that was named, as a path or as the name of a book on the shelf.
fn named(asked: &Path) -> PathBuf {
    let bare = asked.components().count() == 1 && asked.is_relative() && !asked.exists();
    let on_shelf = shelf().map(|s| s.join(asked)).filter(|p| bare && is_book(p));
    on_shelf.unwrap_or_else(|| asked.to_owned())
}

fn is_book(folder: &Path) -> bool {
    folder.join("journal").exists()
}

fn from_environment() -> Option<PathBuf> {
    std::env::var_os(VARIABLE).filter(|v| !v.is_empty()).map(PathBuf::from)
}

/// The book that is meant: the one asked for, or `TURNDAY_BOOK`, or the only one there is.
///
/// # Errors
/// When there is none, or several to choose from.
pub fn find(asked: Option<&Path>) -> Result<PathBuf, Unclear> {
    if let Some(p) = asked.map(Path::to_owned).or_else(from_environment) {
        return Ok(named(&p));
    }
    let shelf = shelf();
    let mut all: Vec<PathBuf> = shelf
        .iter()
        .filter_map(|s| std::fs::read_dir(s).ok())
        .flatten()
        .flatten()
        .map(|e| e.path())
        .filter(|p| is_book(p))
        .collect();
    all.sort();
    match all.len() {
        0 => Err(Unclear::None { looked_in: shelf }),
        1 => Ok(all.remove(0)),
        _ => Err(Unclear::Several(all)),
    }
}

/// Where the book of a new kitchen goes: where asked, or `TURNDAY_BOOK`, or on the shelf under the kitchen's name.
///
/// # Errors
/// When there is no home folder.
pub fn for_new(asked: Option<&Path>, kitchen: &str) -> Result<PathBuf, Unclear> {
    let told = asked.map(Path::to_owned).or_else(from_environment);
    told.or_else(|| shelf().map(|s| s.join(slug(kitchen)))).ok_or(Unclear::None { looked_in: None })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_folders() {
        for (kitchen, folder) in [
            ("Twelfth Night supper, Quill Lane", "twelfth-night-supper-quill-lane"),
            ("  ../../etc/passwd", "etc-passwd"),
            ("Schöne Küche №5", "schöne-küche-5"),
            ("台所", "台所"),
            ("…", "kitchen"),
            ("", "kitchen"),
        ] {
            assert_eq!(slug(kitchen), folder);
        }
        assert!(slug(&"ß".repeat(500)).len() <= 84);
    }
}
