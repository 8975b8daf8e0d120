//! What wakes the nudger: the clock, the clock being set, the book, a click, a signal to stop. Between these it sleeps.

use super::popup::Answer;
use chrono::{DateTime, Utc};
use std::path::Path;
use std::sync::mpsc::{Receiver, Sender};

/// Why it woke.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Wake {
    /// The moment that was waited for, or the clock was set.
    Time,
    /// The journal has grown.
    Book,
    Answer(Answer),
    Stop,
}

/// A clock that wakes.
pub trait Timer {
    /// The next thing that happens: something sent to `wakes`, or the moment `at`.
    fn wait(&mut self, wakes: &Receiver<Wake>, at: Option<DateTime<Utc>>) -> Wake;
}

/// Looks at the clock every so often: sees a clock that was set, or a night slept through, within that time.
pub struct Polling {
    pub every: std::time::Duration,
}

impl Timer for Polling {
    fn wait(&mut self, wakes: &Receiver<Wake>, at: Option<DateTime<Utc>>) -> Wake {
        let left = at.and_then(|at| (at - crate::clock::now()).to_std().ok());
        let time = if at.is_some() { left.unwrap_or_default().min(self.every) } else { self.every };
        match wakes.recv_timeout(time) {
            Ok(wake) => wake,
            Err(std::sync::mpsc::RecvTimeoutError::Timeout) => Wake::Time,
            Err(std::sync::mpsc::RecvTimeoutError::Disconnected) => Wake::Stop,
        }
    }
}

/// The system's timer where it has one that also says when the clock is set; else polling.
pub fn timer(tx: &Sender<Wake>) -> Box<dyn Timer> {
    #[cfg(target_os = "linux")]
    if let Ok(t) = linux::Clock::new(tx) {
        return Box::new(t);
    }
    let _ = tx;
    Box::new(Polling { every: std::time::Duration::from_secs(30) })
}

/// Sends a wake whenever a file in a folder is written; where the system cannot say so, the polling timer has to do.
pub fn watch(folder: &Path, file: &str, tx: &Sender<Wake>) {
    #[cfg(target_os = "linux")]
    linux::watch(folder, file, tx);
    #[cfg(not(target_os = "linux"))]
    let _ = (folder, file, tx);
}

#[cfg(target_os = "linux")]
mod linux {
    use super::{Receiver, Sender, Timer, Wake};
    use chrono::{DateTime, Utc};
    use rustix::fs::inotify;
    use rustix::io::Errno;
    use rustix::time::{
        Itimerspec, TimerfdClockId, TimerfdFlags, TimerfdTimerFlags, Timespec, timerfd_create, timerfd_settime,
    };
    use std::mem::MaybeUninit;
    use std::os::fd::OwnedFd;
    use std::path::Path;
    use std::sync::Arc;

    /// A timer on the real-time clock that is cancelled when the clock is set, by hand or by a time server.
    pub struct Clock {
        fd: Arc<OwnedFd>,
    }

    impl Clock {
        pub fn new(tx: &Sender<Wake>) -> rustix::io::Result<Self> {
            let fd = Arc::new(timerfd_create(TimerfdClockId::Realtime, TimerfdFlags::CLOEXEC)?);
            let (reader, tx) = (Arc::clone(&fd), tx.clone());
            let work = move || {
                let mut buffer = [0u8; 8];
                loop {
                    match rustix::io::read(&*reader, &mut buffer) {
                        // Either the moment has come, or the clock was set: look again in both cases.
                        Ok(_) | Err(Errno::CANCELED) => {
                            if tx.send(Wake::Time).is_err() {
                                return;
                            }
                        }
                        Err(Errno::INTR | Errno::AGAIN) => {}
                        Err(_) => return,
                    }
                }
            };
            let thread = std::thread::Builder::new().name("clock".to_owned()).stack_size(64 << 10);
            thread.spawn(work).map_err(|_| Errno::NOMEM)?;
            Ok(Self { fd })
        }
    }

    impl Timer for Clock {
        fn wait(&mut self, wakes: &Receiver<Wake>, at: Option<DateTime<Utc>>) -> Wake {
            // Far away when there is nothing to wait for, so that a clock that is set is noticed all the same.
            let seconds = at.map_or(i64::from(u32::MAX), |t| t.timestamp() + i64::from(t.timestamp_subsec_nanos() > 0));
            let value = Timespec { tv_sec: seconds, tv_nsec: 0 };
            let spec = Itimerspec { it_interval: Timespec { tv_sec: 0, tv_nsec: 0 }, it_value: value };
            let flags = TimerfdTimerFlags::ABSTIME | TimerfdTimerFlags::CANCEL_ON_SET;
            if timerfd_settime(&*self.fd, flags, &spec).is_err_and(|e| e == Errno::CANCELED) {
                return Wake::Time;
            }
            wakes.recv().unwrap_or(Wake::Stop)
        }
    }

    pub fn watch(folder: &Path, file: &str, tx: &Sender<Wake>) {
        let Ok(fd) = inotify::init(inotify::CreateFlags::CLOEXEC) else { return };
        let flags = inotify::WatchFlags::MODIFY | inotify::WatchFlags::MOVED_TO | inotify::WatchFlags::CREATE;
        if inotify::add_watch(&fd, folder, flags).is_err() {
            return;
        }
        let (file, tx) = (file.to_owned(), tx.clone());
        let work = move || {
            let mut buffer = [MaybeUninit::uninit(); 1024];
            let mut reader = inotify::Reader::new(&fd, &mut buffer);
            loop {
                match reader.next() {
                    Ok(event) => {
                        let ours = event.file_name().is_some_and(|n| n.to_bytes() == file.as_bytes());
                        if ours && tx.send(Wake::Book).is_err() {
                            return;
                        }
                    }
                    Err(Errno::INTR) => {}
                    Err(_) => return,
                }
            }
        };
        let _ = std::thread::Builder::new().name("book".to_owned()).stack_size(64 << 10).spawn(work);
    }
}
