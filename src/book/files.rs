//! Files written whole or not at all.

use std::fs::File;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// The folder a path is in.
pub fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// Writes a file so that after a power cut either the old or the new one is there: a temporary file in the same folder, synced,
/// renamed, and the folder synced. Without the last step a power cut can bring back the old file.
///
/// # Errors
/// What the system says; the temporary file is then taken away again.
pub fn write_whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let name = path.file_name().ok_or_else(|| io::Error::new(io::ErrorKind::InvalidInput, "the path names no file"))?;
    let mut temporary = name.to_os_string();
    temporary.push(format!(".{}.part", std::process::id()));
    let temporary = folder_of(path).join(temporary);
    let save = || {
        let mut f = File::create(&temporary)?;
        f.write_all(bytes)?;
        f.sync_all()?;
        std::fs::rename(&temporary, path)
    };
    save().inspect_err(|_| drop(std::fs::remove_file(&temporary)))?;
    sync_folder(folder_of(path))
}

/// Writes a file that is not there yet; refuses to overwrite.
///
/// # Errors
/// `AlreadyExists`, or what the system says; what was begun is then taken away again.
pub fn write_new(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut f = File::create_new(path)?;
    let save = |f: &mut File| {
        f.write_all(bytes)?;
        f.sync_all()
    };
    save(&mut f).inspect_err(|_| drop(std::fs::remove_file(path)))?;
    sync_folder(folder_of(path))
}

/// Makes the names in a folder last.
///
/// # Errors
/// What the system says.
pub fn sync_folder(folder: &Path) -> io::Result<()> {
    if cfg!(unix) {
        File::open(folder)?.sync_all()?;
    }
    Ok(())
}

/// Makes a folder and those above it, so that they last.
pub(super) fn make_folder(folder: &Path) -> io::Result<()> {
    let mut made: Vec<PathBuf> = Vec::new();
    let mut at = folder;
    while !at.exists() {
        made.push(at.to_owned());
        at = folder_of(at);
    }
    std::fs::create_dir_all(folder)?;
    made.iter().try_for_each(|m| sync_folder(folder_of(m)))
}

/// Takes away temporary files that a killed process left behind. Only called while nobody else writes.
pub(super) fn sweep(folder: &Path) {
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = entry.file_name();
        let name = name.to_string_lossy();
        if name.ends_with(".part") && (name.starts_with("journal.") || name.starts_with("snapshot.json.")) {
            let _ = std::fs::remove_file(entry.path());
        }
    }
}
