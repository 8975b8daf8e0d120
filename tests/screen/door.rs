//! The real program in a real (pseudo) terminal, and what the terminal shows. Everything is waited for by what is seen,
//! with a long limit, so that a slow machine is only slower.

use std::collections::BTreeMap;
use std::io::{Read, Write};
use std::num::NonZero;
use std::path::Path;
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use chrono::{DateTime, Utc};
use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};
use turnday::kitchen::Kitchen;
use turnday::plan::Plan;

/// How long anything is waited for: far longer than it takes on a loaded machine.
pub const LONG: Duration = Duration::from_secs(120);

/// The program in a terminal, and what the terminal shows.
pub struct Door {
    child: Box<dyn Child + Send + Sync>,
    master: Box<dyn MasterPty + Send>,
    keys: Box<dyn Write + Send>,
    /// Everything the program has written, and the thread that reads it.
    raw: Arc<Mutex<Vec<u8>>>,
    reader: Option<JoinHandle<()>>,
    size: (u16, u16),
}

impl Door {
    /// Opens a demo at a size in a hermetic environment.
    pub fn open(args: &[&str], cols: u16, rows: u16, env: &[(&str, &str)]) -> Self {
        Self::start(Path::new(env!("CARGO_BIN_EXE_turnday")), args, cols, rows, env)
    }

    /// Starts any program there.
    pub fn start(program: &Path, args: &[&str], cols: u16, rows: u16, env: &[(&str, &str)]) -> Self {
        let size = PtySize { rows, cols, pixel_width: 0, pixel_height: 0 };
        let pair = native_pty_system().openpty(size).expect("a terminal");
        let mut command = CommandBuilder::new(program);
        command.args(args);
        command.env_clear();
        command.cwd(env!("CARGO_MANIFEST_DIR"));
        for (name, value) in
            [("TERM", "xterm-256color"), ("HOME", "/nonexistent"), ("LANG", "C.UTF-8")].iter().chain(env)
        {
            command.env(name, value);
        }
        let child = pair.slave.spawn_command(command).expect("the program starts");
        drop(pair.slave);
        let mut reader = pair.master.try_clone_reader().expect("a reader");
        let keys = pair.master.take_writer().expect("a writer");
        let raw = Arc::new(Mutex::new(Vec::new()));
        let kept = raw.clone();
        let reader = std::thread::spawn(move || {
            let mut chunk = [0; 8192];
            while let Ok(n @ 1..) = reader.read(&mut chunk) {
                kept.lock().unwrap().extend_from_slice(&chunk[..n]);
            }
        });
        Self { child, master: pair.master, keys, raw, reader: Some(reader), size: (cols, rows) }
    }

    pub fn parser(&self) -> vt100::Parser {
        let of = |n: u16| NonZero::new(n).expect("a size");
        let mut parser = vt100::Parser::new(of(self.size.1), of(self.size.0), 0);
        parser.process(&self.raw.lock().unwrap());
        parser
    }

    pub fn shown(&self) -> String {
        self.parser().screen().contents()
    }

    /// Everything it has written.
    pub fn written(&self) -> Vec<u8> {
        self.raw.lock().unwrap().clone()
    }

    pub fn pid(&self) -> u32 {
        self.child.process_id().expect("it runs")
    }

    /// Gives the terminal another size; the program is told by its signal.
    pub fn resize(&mut self, cols: u16, rows: u16) {
        self.size = (cols, rows);
        self.master.resize(PtySize { rows, cols, pixel_width: 0, pixel_height: 0 }).expect("a terminal can be resized");
    }

    /// How often its threads have gone to sleep and been woken, as Linux counts (proc(5), the voluntary switches of
    /// each task), by thread; nothing where there is no such count.
    pub fn wakes(&self) -> Option<BTreeMap<String, u64>> {
        let tasks = std::fs::read_dir(format!("/proc/{}/task", self.pid())).ok()?;
        let count = |status: &str| {
            let of = |l: &&str| l.starts_with("voluntary_ctxt_switches");
            status.lines().find(of)?.split_whitespace().nth(1)?.parse::<u64>().ok()
        };
        tasks
            .map(|t| {
                let path = t.ok()?.path();
                let name = std::fs::read_to_string(path.join("comm")).ok()?;
                let id = path.file_name()?.to_string_lossy().into_owned();
                Some((format!("{} {id}", name.trim()), count(&std::fs::read_to_string(path.join("status")).ok()?)?))
            })
            .collect()
    }

    /// Waits until the screen is as wanted; what it shows instead is the failure.
    pub fn wait(&self, what: &str, wanted: impl Fn(&str) -> bool) -> String {
        let end = Instant::now() + LONG;
        loop {
            let shown = self.shown();
            if wanted(&shown) {
                return shown;
            }
            assert!(Instant::now() < end, "waited for {what}; the screen shows\n{shown}");
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    pub fn press(&mut self, keys: &str) {
        self.keys.write_all(keys.as_bytes()).expect("keys can be sent");
        self.keys.flush().expect("keys can be sent");
    }

    /// Waits for the end; the exit code, or the signal's name.
    pub fn end(&mut self) -> portable_pty::ExitStatus {
        let end = Instant::now() + LONG;
        loop {
            if let Some(status) = self.child.try_wait().expect("the child can be asked") {
                // What it wrote last may still be on the way; the reader ends when all of it is read.
                while self.reader.as_ref().is_some_and(|r| !r.is_finished()) && Instant::now() < end {
                    std::thread::sleep(Duration::from_millis(5));
                }
                return status;
            }
            assert!(Instant::now() < end, "the program does not end; the screen shows\n{}", self.shown());
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    pub fn signal(&self, name: &str) {
        let pid = self.pid().to_string();
        let done = std::process::Command::new("kill").args([&format!("-{name}"), &pid]).status().expect("kill runs");
        assert!(done.success());
    }

    /// The screen, cursor, mouse and paste mode are as they were before, and the line discipline is cooked.
    pub fn assert_given_back(&self) {
        let parser = self.parser();
        let screen = parser.screen();
        assert!(!screen.alternate_screen(), "still on the other screen");
        assert!(!screen.hide_cursor(), "the cursor is hidden");
        assert!(!screen.bracketed_paste(), "paste is still bracketed");
        assert_eq!(screen.mouse_protocol_mode(), vt100::MouseProtocolMode::None, "the mouse is still taken");
        if let Some(modes) = self.line_modes() {
            assert!(modes.contains(" icanon") && modes.contains(" echo"), "the line is still raw: {modes}");
        }
    }

    /// What `stty` says of the terminal, when it can be asked by name.
    fn line_modes(&self) -> Option<String> {
        let name = self.master.tty_name()?;
        let out = std::process::Command::new("stty").arg("-F").arg(name).arg("-a").output().ok()?;
        out.status.success().then(|| format!(" {}", String::from_utf8_lossy(&out.stdout).replace('\n', " ")))
    }
}

impl Drop for Door {
    fn drop(&mut self) {
        let _ = self.child.kill();
    }
}

/// A plan of the pair's feast is on the screen.
pub fn planned(shown: &str) -> bool {
    let found = shown.contains("Best found") || shown.contains("Proven best");
    shown.contains("Next,") && found && shown.contains("Big end")
}

/// The folder of a home that a test has for itself.
pub fn home() -> (tempfile::TempDir, String) {
    let home = tempfile::tempdir().expect("a folder");
    let path = home.path().to_string_lossy().into_owned();
    (home, path)
}

/// What a command prints, with that home.
pub fn shell(home: &str, args: &[&str]) -> String {
    let said = std::process::Command::new(env!("CARGO_BIN_EXE_turnday"))
        .args(args)
        .env_clear()
        .env("HOME", home)
        .output()
        .expect("the program runs");
    assert!(said.status.success(), "{args:?}: {}", String::from_utf8_lossy(&said.stderr));
    String::from_utf8(said.stdout).expect("it prints UTF-8")
}

/// The screen opened on a plan that is there already, with nobody planning and nothing kept.
pub fn session(kitchen: Arc<Kitchen>, first: Plan, now: fn() -> DateTime<Utc>) -> turnday::tui::Session {
    turnday::tui::Session {
        kitchen,
        first: Some(first),
        held: None,
        fresh: false,
        text: None,
        planner: None,
        asker: None,
        from_file: false,
        keeper: Box::new(Nothing),
        keymap: Arc::default(),
        now,
    }
}

/// Keeps nothing, for a screen that a test opens itself.
struct Nothing;

impl turnday::tui::Keeper for Nothing {
    fn deed(&mut self, _: &turnday::app::Deed) -> anyhow::Result<turnday::tui::Kept> {
        Ok(turnday::tui::Kept::default())
    }

    fn held(&self) -> anyhow::Result<Option<Box<turnday::app::Held>>> {
        Ok(None)
    }

    fn catch_up(&mut self) -> anyhow::Result<Option<Box<turnday::app::Held>>> {
        Ok(None)
    }

    fn watched(&self) -> Option<std::path::PathBuf> {
        None
    }
}
