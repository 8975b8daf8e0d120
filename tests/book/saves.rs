//! The program killed at every system call of a save: what it said was done is there, and the book opens.

use super::support::*;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use turnday::book::{Book, Error};

const PROGRAM: &str = env!("CARGO_BIN_EXE_turnday");

/// System calls that have to do with files: where a longer save is killed.
const OF_FILES: [&str; 18] = [
    "openat",
    "read",
    "write",
    "pwrite64",
    "fdatasync",
    "fsync",
    "rename",
    "renameat",
    "renameat2",
    "ftruncate",
    "flock",
    "lseek",
    "close",
    "unlink",
    "mkdir",
    "statx",
    "fstat",
    "getdents64",
];

pub fn strace_works() -> bool {
    let works = Command::new("strace").args(["-o", "/dev/null", "true"]).output().is_ok_and(|o| o.status.success());
    if !works {
        eprintln!("LEFT OUT: no strace that can trace here: nothing was killed or failed at system calls of a save.");
    }
    works
}

/// The program under strace, with a folder as home and the book in it.
pub fn under_strace(home: &Path, options: &[&str], args: &[&str]) -> Output {
    Command::new("strace")
        .args(["-qq"])
        .args(options)
        .arg(PROGRAM)
        .args(args)
        .env_clear()
        .env("PATH", std::env::var_os("PATH").unwrap_or_default())
        .env("HOME", home)
        .env("TURNDAY_BOOK", home.join("book"))
        .current_dir(home)
        .output()
        .unwrap()
}

/// A save: what is in the folder before it, and the command.
struct Save {
    home: tempfile::TempDir,
    before: PathBuf,
    args: Vec<&'static str>,
}

impl Save {
    fn new(prepare: impl FnOnce(&Path), args: &[&'static str]) -> Self {
        let home = quick_folder();
        let before = home.path().join("before");
        std::fs::create_dir(&before).unwrap();
        prepare(&before);
        Self { home, before, args: args.to_vec() }
    }

    fn book(&self) -> PathBuf {
        self.home.path().join("book")
    }

    fn restore(&self) {
        let book = self.book();
        let _ = std::fs::remove_dir_all(&book);
        // A folder that is to be made is not there yet.
        let entries: Vec<_> = std::fs::read_dir(&self.before).unwrap().map(|e| e.unwrap()).collect();
        for e in entries {
            let in_book = e.path().is_file()
                && e.file_name() != "kitchen.json"
                && e.file_name() != "plan.json"
                && e.file_name() != "out.json";
            let to = if in_book { &book } else { self.home.path() };
            std::fs::create_dir_all(to).unwrap();
            std::fs::copy(e.path(), to.join(e.file_name())).unwrap();
        }
    }

    /// Every system call of the save, by name, and how often each is made.
    fn calls(&self) -> BTreeMap<String, usize> {
        self.restore();
        let trace = self.home.path().join("trace");
        let said = under_strace(self.home.path(), &["-o", trace.to_str().unwrap()], &self.args);
        assert!(said.status.success(), "{said:?}");
        let mut calls = BTreeMap::new();
        for line in std::fs::read_to_string(&trace).unwrap().lines() {
            let name: String = line.chars().take_while(|c| c.is_ascii_alphanumeric() || *c == '_').collect();
            if line[name.len()..].starts_with('(') {
                *calls.entry(name).or_default() += 1;
            }
        }
        calls
    }

    /// Kills the save at each of its calls, and looks at what is there afterwards.
    fn killed_at_each(&self, which: impl Fn(&str) -> bool, look: impl Fn(&Path, bool, &str)) -> usize {
        let mut kills = 0;
        for (name, count) in self.calls().iter().filter(|(n, _)| which(n)) {
            for n in 1..=*count {
                self.restore();
                let inject = format!("inject={name}:signal=KILL:when={n}");
                let said = under_strace(
                    self.home.path(),
                    &["-o", "/dev/null", "-e", &format!("trace={name}"), "-e", &inject],
                    &self.args,
                );
                kills += usize::from(!said.status.success());
                let out = String::from_utf8_lossy(&said.stdout);
                let done = out.contains("(line ")
                    || out.contains("is begun")
                    || out.contains("Undone")
                    || out.contains("lines is in");
                look(&self.book(), done, &format!("killed at {name} {n}"));
            }
        }
        assert!(kills > 20, "only {kills} kills");
        kills
    }
}

fn two_lines(folder: &Path) {
    let shelf = Shelf::new();
    drop(shelf.book());
    std::fs::copy(shelf.path().join("journal"), folder.join("journal")).unwrap();
}

fn of_files(name: &str) -> bool {
    OF_FILES.contains(&name)
}

#[test]
fn at_every_call_of_an_act() {
    if !strace_works() {
        return;
    }
    let save = Save::new(two_lines, &["log", "note", "froth", "skimmed"]);
    let kills = save.killed_at_each(
        |_| true,
        |folder, done, at| {
            let mut book = Book::open(folder, now()).unwrap_or_else(|e| panic!("{at}: {e}"));
            let there = book.state().notes.len();
            assert!(there <= 1 && (!done || there == 1), "{at}: done {done}, there {there}");
            book.record(note("another"), "", now()).unwrap_or_else(|e| panic!("{at}: {e}"));
            assert_eq!(Book::open(folder, now()).unwrap().state().notes.len(), there + 1);
        },
    );
    println!("{kills} kills");
}

#[test]
fn at_every_call_of_an_act_that_keeps_a_snapshot() {
    if !strace_works() {
        return;
    }
    let prepare = |folder: &Path| {
        let mut book = Book::create(&folder.join("b"), &least_kitchen(), "", now()).unwrap();
        for n in 0..498 {
            done(book.record(note(&n.to_string()), "", now()));
        }
        std::fs::rename(folder.join("b/journal"), folder.join("journal")).unwrap();
        std::fs::remove_dir_all(folder.join("b")).unwrap();
    };
    let save = Save::new(prepare, &["log", "note", "the", "last"]);
    let kills = save.killed_at_each(of_files, |folder, done, at| {
        let mut book = Book::open(folder, now()).unwrap_or_else(|e| panic!("{at}: {e}"));
        let there = book.state().notes.len();
        assert!((498..=499).contains(&there) && (!done || there == 499), "{at}: {there}");
        assert_eq!(book.state(), &turnday::book::State::fold(&book.events().unwrap()).unwrap(), "{at}");
        book.record(note("another"), "", now()).unwrap_or_else(|e| panic!("{at}: {e}"));
    });
    println!("{kills} kills");
}

#[test]
fn at_every_call_of_an_undoing() {
    if !strace_works() {
        return;
    }
    let save = Save::new(two_lines, &["undo"]);
    let kills = save.killed_at_each(of_files, |folder, done, at| {
        let book = Book::open(folder, now()).unwrap_or_else(|e| panic!("{at}: {e}"));
        let undone = book.state().plan.is_none();
        assert!(!done || undone, "{at}");
    });
    println!("{kills} kills");
}

#[test]
fn at_every_call_of_a_beginning_and_of_an_import() {
    if !strace_works() {
        return;
    }
    let begin = |folder: &Path| {
        std::fs::write(folder.join("kitchen.json"), kitchen()).unwrap();
        let plan = Command::new(PROGRAM)
            .args(["plan", "kitchen.json", "--steps", "20", "-o", "plan.json"])
            .current_dir(folder)
            .output()
            .unwrap();
        assert!(plan.status.success(), "{plan:?}");
    };
    let import = |folder: &Path| {
        let shelf = Shelf::new();
        std::fs::write(folder.join("out.json"), turnday::book::export(&shelf.book()).unwrap()).unwrap();
    };
    let mut kills = 0;
    for save in [
        Save::new(begin, &["start", "kitchen.json", "--plan", "plan.json"]),
        Save::new(import, &["book", "import", "out.json"]),
    ] {
        kills += save.killed_at_each(of_files, |folder, done, at| match Book::open(folder, now()) {
            Ok(book) => {
                let lines = book.state().seq;
                assert!(lines <= 2 && (!done || lines == 2), "{at}: {lines}");
            }
            Err(Error::NoBook { .. }) => {
                assert!(!done, "{at}: it was said to be done");
                // What is left there is not in the way of beginning again.
                Book::create(folder, &kitchen(), "", now()).unwrap_or_else(|e| panic!("{at}: {e}"));
            }
            Err(e) => panic!("{at}: {e}"),
        });
    }
    println!("{kills} kills");
}

#[test]
fn at_every_call_of_cutting_off_a_bad_end() {
    if !strace_works() {
        return;
    }
    let tail = b"0badf00d 40 {\"seq\":3,\"at\":\"2026-12-05T12:0".to_vec();
    let prepare = |folder: &Path| {
        two_lines(folder);
        let mut bytes = journal(folder);
        bytes.extend(&tail);
        std::fs::write(folder.join("journal"), bytes).unwrap();
    };
    let save = Save::new(prepare, &["history"]);
    let kills = save.killed_at_each(of_files, |folder, _, at| {
        let book = Book::open(folder, now()).unwrap_or_else(|e| panic!("{at}: {e}"));
        assert_eq!(book.state().seq, 2, "{at}");
        assert!(!journal(folder).ends_with(&tail));
        let kept = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path());
        let kept: Vec<PathBuf> =
            kept.filter(|p| p.file_name().unwrap().to_string_lossy().starts_with("cut-")).collect();
        assert!(kept.iter().any(|p| std::fs::read(p).unwrap() == tail), "{at}: the bad end is kept nowhere");
    });
    println!("{kills} kills");
}

/// What a trace says of one file: the calls with its descriptor, in order, and when something was printed.
fn story(trace: &str, name: &str) -> Vec<String> {
    let (mut fd, mut out) = (None, Vec::new());
    for line in trace.lines() {
        let call = line.split('(').next().unwrap_or_default();
        let first = line.split(['(', ',', ')']).nth(1).unwrap_or_default().trim();
        let opened = line.rsplit("= ").next().unwrap_or_default().trim();
        if call == "openat" && line.contains(name) && opened.parse::<u32>().is_ok() {
            fd = Some(opened.to_owned());
        } else if call == "write" && first == "1" {
            out.push("print".to_owned());
        } else if call == "rename" && line.contains(name) {
            out.push("rename".to_owned());
        } else if fd.as_deref() == Some(first)
            && matches!(call, "write" | "fdatasync" | "fsync" | "ftruncate" | "close")
        {
            if call == "close" {
                fd = None;
            } else {
                out.push(call.to_owned());
            }
        }
    }
    out
}

/// A killed process leaves its writes with the system; only a sync saves them from a power cut. So the order of calls is looked at.
#[test]
fn an_act_is_on_the_disk_before_it_is_called_done() {
    if !strace_works() {
        return;
    }
    let save = Save::new(two_lines, &["log", "note", "froth"]);
    save.calls();
    let trace = std::fs::read_to_string(save.home.path().join("trace")).unwrap();
    assert_eq!(story(&trace, "/journal\""), ["write", "fdatasync", "print"], "one write, synced, then said");
    let import = |folder: &Path| {
        let shelf = Shelf::new();
        std::fs::write(folder.join("out.json"), turnday::book::export(&shelf.book()).unwrap()).unwrap();
    };
    let save = Save::new(import, &["book", "import", "out.json"]);
    save.calls();
    let trace = std::fs::read_to_string(save.home.path().join("trace")).unwrap();
    let of_part = story(&trace, ".part\"");
    assert_eq!(of_part, ["write", "fsync", "rename", "print"], "{of_part:?}");
    // After the rename the folder itself is synced, and before that the folder above it, which it was made in.
    let after = trace.split("rename(").nth(1).unwrap();
    assert!(after.contains("/book\", O_RDONLY|O_CLOEXEC) = ") && after.contains("fsync("), "{after}");
}
