//! One writer at a time. The lock is on a file of its own, never on the data; the system lets go of it when a process ends,
//! however it ends.

use super::error::{Error, Result};
use crate::clock::Stopwatch;
use std::fs::{File, TryLockError};
use std::io::{Read, Seek, Write};
use std::path::Path;
use std::time::Duration;

/// Longest wait for another writer.
pub const PATIENCE: Duration = Duration::from_secs(5);

/// Held until dropped.
#[derive(Debug)]
pub struct Lock(File);

impl Drop for Lock {
    fn drop(&mut self) {
        // Let go outright: closing alone does not, while a child that was just being started still has the file open.
        let _ = self.0.unlock();
    }
}

impl Lock {
    /// Waits for the book's lock, at most `patience`.
    ///
    /// # Errors
    /// [`Error::Busy`] with who holds it, or what the system says.
    pub fn take(folder: &Path, patience: Duration) -> Result<Self> {
        let path = folder.join("lock");
        let mut file = File::options()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(&path)
            .map_err(Error::io("open the lock", &path))?;
        let watch = Stopwatch::start();
        let mut nap = Duration::from_micros(200);
        loop {
            match file.try_lock() {
                Ok(()) => break,
                Err(TryLockError::WouldBlock) if watch.elapsed() < patience => {
                    std::thread::sleep(nap);
                    nap = (nap * 2).min(Duration::from_millis(10));
                }
                Err(TryLockError::WouldBlock) => {
                    let mut text = String::new();
                    let _ = file.read_to_string(&mut text);
                    let holder = text.trim();
                    let holder = if holder.is_empty() { String::new() } else { format!(" (process {holder})") };
                    return Err(Error::Busy { folder: folder.to_owned(), holder, waited: watch.elapsed() });
                }
                Err(TryLockError::Error(e)) => return Err(Error::io("lock", &path)(e)),
            }
        }
        // Who holds it, for a message only: when it cannot be written, the lock holds all the same.
        let id = format!("{:<10}", std::process::id());
        let _ = file.rewind().and_then(|()| file.write_all(id.as_bytes()));
        Ok(Self(file))
    }
}
