//! A disk that is full, read-only or failing: a clear error, the act not called done, the book whole, and the same act works once there is room.

use super::saves::{strace_works, under_strace};
use super::support::*;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use turnday::book::Book;

const PROGRAM: &str = env!("CARGO_BIN_EXE_turnday");
const NOTE: [&str; 4] = ["log", "note", "froth", "skimmed"];

struct Home {
    folder: tempfile::TempDir,
}

impl Home {
    fn new() -> Self {
        let folder = quick_folder();
        let mut book = Book::create(&folder.path().join("book"), &least_kitchen(), "", now()).unwrap();
        done(book.record(note("the first"), "", now()));
        Self { folder }
    }

    fn book(&self) -> PathBuf {
        self.folder.path().join("book")
    }

    fn run(&self, args: &[&str]) -> Output {
        let mut c = Command::new(PROGRAM);
        c.args(args).env_clear().env("HOME", self.folder.path()).env("TURNDAY_BOOK", self.book()).output().unwrap()
    }

    fn notes(&self) -> usize {
        Book::open(&self.book(), now()).unwrap().state().notes.len()
    }
}

/// It ended badly, said so in words that help, and did not say it was done.
#[track_caller]
fn failed(said: &Output, case: &str) -> String {
    let (out, err) = (String::from_utf8_lossy(&said.stdout), String::from_utf8_lossy(&said.stderr).into_owned());
    assert_eq!(said.status.code(), Some(2), "{case}: {out}{err}");
    assert!(!out.contains("(line "), "{case}: {out}");
    assert!(err.contains("turnday: cannot ") && !err.contains("panicked"), "{case}: {err}");
    err
}

#[test]
fn errors_at_write_sync_open_and_lock() {
    if !strace_works() {
        return;
    }
    let home = Home::new();
    let journal_file = home.book().join("journal").display().to_string();
    let lock = home.book().join("lock").display().to_string();
    let before = journal(&home.book());
    let mut runs = 0;
    for (path, call, error, word) in [
        (&journal_file, "write", "ENOSPC", "make room"),
        (&journal_file, "write", "EDQUOT", "make room"),
        (&journal_file, "write", "EIO", "journal"),
        (&journal_file, "write", "EFBIG", "journal"),
        (&journal_file, "fdatasync", "EIO", "journal"),
        (&journal_file, "fdatasync", "ENOSPC", "make room"),
        (&journal_file, "openat", "EACCES", "journal"),
        (&lock, "openat", "EACCES", "writable"),
        (&lock, "openat", "EROFS", "writable"),
        (&lock, "flock", "ENOLCK", "lock"),
        (&lock, "flock", "EIO", "lock"),
    ] {
        let case = format!("{call} {error} at {path}");
        let inject = format!("inject={call}:error={error}:when=1+");
        let said = under_strace(
            home.folder.path(),
            &["-o", "/dev/null", "-P", path, "-e", &format!("trace={call}"), "-e", &inject],
            &NOTE,
        );
        let err = failed(&said, &case);
        assert!(err.contains(word), "{case}: {err}");
        assert_eq!(journal(&home.book()), before, "{case}: the journal changed");
        assert_eq!(home.notes(), 1, "{case}");
        runs += 1;
    }
    // And now there is room: the same act works.
    let said = home.run(&NOTE);
    assert!(said.status.success(), "{said:?}");
    assert_eq!(home.notes(), 2);
    println!("{runs} kinds of failure");
}

#[test]
fn a_sync_that_fails_and_cannot_be_taken_back() {
    if !strace_works() {
        return;
    }
    let home = Home::new();
    let path = home.book().join("journal").display().to_string();
    let options = [
        "-o",
        "/dev/null",
        "-P",
        &path,
        "-e",
        "trace=fdatasync,ftruncate",
        "-e",
        "inject=fdatasync:error=EIO",
        "-e",
        "inject=ftruncate:error=EIO",
    ];
    failed(&under_strace(home.folder.path(), &options, &NOTE), "fdatasync and ftruncate");
    // It may be there though it was not called done; said again it is not doubled.
    assert!(home.run(&NOTE).status.success());
    assert_eq!(home.notes(), 2);
}

#[test]
fn a_beginning_that_fails_anywhere_can_be_begun_again() {
    if !strace_works() {
        return;
    }
    let shelf = Shelf::new();
    let out = turnday::book::export(&shelf.book()).unwrap();
    let mut runs = 0;
    for (call, error) in [
        ("write", "ENOSPC"),
        ("write", "EIO"),
        ("fsync", "EIO"),
        ("rename", "EIO"),
        ("rename", "ENOSPC"),
        ("openat", "EACCES"),
        ("openat", "ENOSPC"),
        ("mkdir", "EROFS"),
        ("mkdir", "ENOSPC"),
        ("flock", "EIO"),
    ] {
        for n in 1..12 {
            let home = quick_folder();
            std::fs::write(home.path().join("out.json"), &out).unwrap();
            let inject = format!("inject={call}:error={error}:when={n}");
            // Only what has to do with this folder: not the program's own loading.
            let said = under_strace(
                home.path(),
                &["-o", "/dev/null", "-e", &format!("trace={call}"), "-e", &inject],
                &["book", "import", "out.json"],
            );
            let case = format!("{call} {error} {n}");
            let folder = home.path().join("book");
            let err = String::from_utf8_lossy(&said.stderr);
            assert!(!err.contains("panicked"), "{case}: {err}");
            let there = Book::open(&folder, now());
            if said.status.success() {
                assert_eq!(there.unwrap_or_else(|e| panic!("{case}: {e}")).state().seq, 2, "{case}");
            } else if let Ok(book) = there {
                assert_eq!(book.state().seq, 2, "{case}: half a book");
            } else {
                let left = |p: &Path| {
                    std::fs::read_dir(p)
                        .into_iter()
                        .flatten()
                        .flatten()
                        .any(|e| e.file_name().to_string_lossy().ends_with(".part"))
                };
                assert!(!left(&folder), "{case}: something was left lying");
                turnday::book::import(&folder, &out, now()).unwrap_or_else(|e| panic!("{case}: {e}"));
            }
            runs += 1;
        }
    }
    println!("{runs} failures");
}

#[test]
fn a_snapshot_that_cannot_be_kept_harms_nothing() {
    if !strace_works() {
        return;
    }
    let home = Home::new();
    let mut book = Book::open(&home.book(), now()).unwrap();
    while book.state().seq < 499 {
        let n = book.state().seq;
        done(book.record(note(&format!("note {n}")), "", now()));
    }
    for (call, error) in [("fsync", "EIO"), ("rename", "ENOSPC")] {
        let before = home.notes();
        let inject = format!("inject={call}:error={error}");
        let args = ["log", "note", call];
        let said = under_strace(
            home.folder.path(),
            &["-o", "/dev/null", "-e", &format!("trace={call}"), "-e", &inject],
            &args,
        );
        assert!(said.status.success(), "{said:?}");
        assert_eq!(home.notes(), before + 1);
    }
}

/// The kernel itself writes less than asked for at a limit on file size, and then fails.
#[test]
fn a_write_that_comes_up_short() {
    let works = Command::new("prlimit").args(["--fsize=100000", "true"]).output().is_ok_and(|o| o.status.success());
    if !works {
        eprintln!("LEFT OUT: no prlimit: no short write was made.");
        return;
    }
    let home = Home::new();
    let before = journal(&home.book());
    for room in [0, 1, 8, 9, 20, 60] {
        let said = Command::new("prlimit")
            .arg(format!("--fsize={}", before.len() + room))
            .args(["sh", "-c", "trap '' XFSZ; exec \"$0\" \"$@\"", PROGRAM])
            .args(NOTE)
            .env_remove("XDG_DATA_HOME")
            .env("TURNDAY_BOOK", home.book())
            .output()
            .unwrap();
        failed(&said, &format!("{room} bytes of room"));
        assert_eq!(journal(&home.book()), before, "{room} bytes of room");
    }
    assert!(home.run(&NOTE).status.success());
    assert_eq!(home.notes(), 2);
}

#[test]
fn a_disk_that_is_full() {
    let home = Home::new();
    let script = r#"
        set -e
        mount -t tmpfs -o size=256k tmpfs "$DISK"
        cp "$TURNDAY_BOOK"/journal "$DISK"/
        export TURNDAY_BOOK="$DISK"
        dd if=/dev/zero of="$DISK"/filler bs=1k count=1000 2>/dev/null || true
        cp "$DISK"/journal "$KEEP"/before
        "$PROGRAM" log note "$LONG" >"$KEEP"/out 2>"$KEEP"/err && exit 9
        cmp "$DISK"/journal "$KEEP"/before
        rm "$DISK"/filler
        "$PROGRAM" log note "$LONG"
        "$PROGRAM" book check
    "#;
    let (disk, keep) = (home.folder.path().join("disk"), home.folder.path().join("keep"));
    std::fs::create_dir(&disk).unwrap();
    std::fs::create_dir(&keep).unwrap();
    let run = |flags: &str| {
        let mut c = Command::new("unshare");
        c.arg(flags).args(["sh", "-c", script]).env("DISK", &disk).env("KEEP", &keep).env("PROGRAM", PROGRAM);
        c.env("TURNDAY_BOOK", home.book()).env("LONG", "x".repeat(9000)).output()
    };
    let may = |flags: &str| {
        let mut c = Command::new("unshare");
        c.arg(flags).args(["sh", "-c", "mount -t tmpfs -o size=64k tmpfs \"$DISK\""]).env("DISK", &disk);
        c.output().is_ok_and(|o| o.status.success())
    };
    let Some(flags) = ["-m", "-rm"].into_iter().find(|f| may(f)) else {
        eprintln!("LEFT OUT: no disk can be mounted here: a full one was only played (ENOSPC at the system calls).");
        return;
    };
    let said = run(flags).unwrap();
    let (out, err) = (String::from_utf8_lossy(&said.stdout), String::from_utf8_lossy(&said.stderr));
    assert!(said.status.success(), "{out}{err}");
    let told = std::fs::read_to_string(keep.join("err")).unwrap();
    assert!(told.contains("make room") && told.contains("nothing was recorded"), "{told}");
    assert!(out.contains("(line 3)") && out.contains("3 lines, each whole"), "{out}");
}
