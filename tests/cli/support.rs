//! Runs the real program with a cleared environment in a folder of its own.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

pub struct Bench {
    folder: tempfile::TempDir,
}

/// What the program said and how it ended.
#[derive(Debug)]
pub struct Said {
    pub code: Option<i32>,
    pub out: String,
    pub err: String,
}

pub fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

impl From<Output> for Said {
    fn from(o: Output) -> Self {
        let text = |b: Vec<u8>| String::from_utf8(b).expect("the program prints UTF-8");
        let said = Self { code: o.status.code(), out: text(o.stdout), err: text(o.stderr) };
        assert!(!said.err.contains("panicked"), "{}", said.err);
        said
    }
}

impl Said {
    #[track_caller]
    pub fn ends(self, code: i32) -> Self {
        assert_eq!(self.code, Some(code), "out:\n{}\nerr:\n{}", self.out, self.err);
        self
    }

    #[track_caller]
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap_or_else(|e| panic!("{e}\n{}", self.out))
    }
}

impl Bench {
    pub fn new() -> Self {
        Self { folder: tempfile::tempdir().unwrap() }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn write(&self, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
        let path = self.path(name);
        std::fs::write(&path, bytes).unwrap();
        path
    }

    /// A kitchen of the test folders, copied here.
    pub fn kitchen(&self, good: &str) -> PathBuf {
        self.write("kitchen.json", std::fs::read(root().join("tests/kitchen/good").join(good)).unwrap())
    }

    pub fn command(&self, args: &[&str]) -> Command {
        let mut c = Command::new(env!("CARGO_BIN_EXE_turnday"));
        c.args(args)
            .env_clear()
            .env("HOME", self.folder.path())
            .env("TZ", "Pacific/Auckland")
            .current_dir(&self.folder);
        c.stdin(Stdio::null());
        c
    }

    #[track_caller]
    pub fn run(&self, args: &[&str]) -> Said {
        self.command(args).output().unwrap().into()
    }

    #[track_caller]
    pub fn run_with_input(&self, args: &[&str], input: &[u8]) -> Said {
        let mut child =
            self.command(args).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        child.stdin.take().unwrap().write_all(input).unwrap();
        child.wait_with_output().unwrap().into()
    }

    /// Everything in the folder, by name.
    pub fn names(&self) -> Vec<String> {
        let mut names: Vec<String> =
            std::fs::read_dir(&self.folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }
}

/// Compares with a file that is kept; `TURNDAY_BLESS=1` writes it anew.
#[track_caller]
pub fn compare_or_bless(path: &Path, now: &str) {
    if std::env::var_os("TURNDAY_BLESS").is_some() {
        std::fs::write(path, now).unwrap();
        return;
    }
    let kept = std::fs::read_to_string(path).unwrap_or_default();
    assert!(
        kept == now,
        "{} is not what is made now; look at the difference, and bless it with TURNDAY_BLESS=1\n--- now\n{now}",
        path.display()
    );
}
