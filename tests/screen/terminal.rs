//! The real program in a real (pseudo) terminal: it opens, moves, zooms, and gives the terminal back however it ends.

use std::io::{Read, Write};
use std::num::NonZero;
use std::path::Path;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};

/// The program in a terminal, and what the terminal shows.
struct Door {
    child: Box<dyn Child + Send + Sync>,
    master: Box<dyn MasterPty + Send>,
    keys: Box<dyn Write + Send>,
    /// Everything the program has written.
    raw: Arc<Mutex<Vec<u8>>>,
    size: (u16, u16),
}

impl Door {
    /// Opens a demo at a size in a hermetic environment.
    fn open(args: &[&str], cols: u16, rows: u16, env: &[(&str, &str)]) -> Self {
        Self::start(Path::new(env!("CARGO_BIN_EXE_turnday")), args, cols, rows, env)
    }

    /// Starts any program there.
    fn start(program: &Path, args: &[&str], cols: u16, rows: u16, env: &[(&str, &str)]) -> Self {
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
        std::thread::spawn(move || {
            let mut chunk = [0; 8192];
            while let Ok(n @ 1..) = reader.read(&mut chunk) {
                kept.lock().unwrap().extend_from_slice(&chunk[..n]);
            }
        });
        Self { child, master: pair.master, keys, raw, size: (cols, rows) }
    }

    fn parser(&self) -> vt100::Parser {
        let of = |n: u16| NonZero::new(n).expect("a size");
        let mut parser = vt100::Parser::new(of(self.size.1), of(self.size.0), 0);
        parser.process(&self.raw.lock().unwrap());
        parser
    }

    fn shown(&self) -> String {
        self.parser().screen().contents()
    }

    /// Waits until the screen is as wanted; what it shows instead is the failure.
    fn wait(&self, what: &str, wanted: impl Fn(&str) -> bool) -> String {
        let end = Instant::now() + Duration::from_secs(60);
        loop {
            let shown = self.shown();
            if wanted(&shown) {
                return shown;
            }
            assert!(Instant::now() < end, "waited for {what}; the screen shows\n{shown}");
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    fn press(&mut self, keys: &str) {
        self.keys.write_all(keys.as_bytes()).expect("keys can be sent");
        self.keys.flush().expect("keys can be sent");
    }

    /// Waits for the end; the exit code, or the signal's name.
    fn end(&mut self) -> portable_pty::ExitStatus {
        let end = Instant::now() + Duration::from_secs(20);
        loop {
            if let Some(status) = self.child.try_wait().expect("the child can be asked") {
                // What it wrote last may still be on the way.
                std::thread::sleep(Duration::from_millis(100));
                return status;
            }
            assert!(Instant::now() < end, "the program does not end; the screen shows\n{}", self.shown());
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    fn signal(&self, name: &str) {
        let pid = self.child.process_id().expect("it runs").to_string();
        let done = std::process::Command::new("kill").args([&format!("-{name}"), &pid]).status().expect("kill runs");
        assert!(done.success());
    }

    /// The screen, cursor, mouse and paste mode are as they were before, and the line discipline is cooked.
    fn assert_given_back(&self) {
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

fn planned(shown: &str) -> bool {
    let found = shown.contains("Best found") || shown.contains("Proven best");
    shown.contains("Next,") && found && shown.contains("Big end")
}

#[test]
fn a_demo_is_opened_moved_zoomed_and_quit() {
    let mut door = Door::open(&["demo", "feast"], 100, 30, &[]);
    let first = door.wait("the first plan", planned);
    assert!(scale(&first).is_some(), "{first}");
    door.press("++");
    door.wait("a closer look", |s| scale(s) != scale(&first));
    door.press("t");
    door.wait("the next turn in hand", |s| s.contains("can start") && s.contains("Turn Long box"));
    door.press("?");
    door.wait("the help", |s| s.contains("Keys · esc closes"));
    door.press("\u{1b}");
    door.wait("the timeline again", |s| !s.contains("Keys · esc closes"));
    // A click on the second name selects that line: rows count from 1 in the SGR mouse protocol.
    let row = door.shown().lines().position(|l| l.contains("Small end")).expect("a second joint") + 1;
    door.press(&format!("\u{1b}[<0;5;{row}M\u{1b}[<0;5;{row}m"));
    door.wait("the second joint in hand", |s| s.contains("▸Small end"));
    door.press("q");
    assert_eq!(door.end().exit_code(), 0);
    door.assert_given_back();
}

fn scale(shown: &str) -> Option<&str> {
    shown.lines().find(|l| l.contains("/column")).map(|l| l.split("  ").next().unwrap_or(l))
}

#[test]
fn a_resize_is_followed_and_a_small_window_says_what_it_needs() {
    let mut door = Door::open(&["demo", "feast"], 80, 24, &[]);
    door.wait("the first plan", planned);
    door.size = (38, 10);
    door.master.resize(PtySize { rows: 10, cols: 38, pixel_width: 0, pixel_height: 0 }).unwrap();
    door.wait("the plain message", |s| s.contains("needs 40"));
    door.size = (120, 40);
    door.master.resize(PtySize { rows: 40, cols: 120, pixel_width: 0, pixel_height: 0 }).unwrap();
    door.wait("the timeline again", planned);
    door.press("q");
    assert_eq!(door.end().exit_code(), 0);
    door.assert_given_back();
}

#[test]
fn a_signal_gives_the_terminal_back() {
    for (name, said) in [("TERM", "Terminated"), ("HUP", "Hangup"), ("INT", "Interrupt")] {
        let mut door = Door::open(&["demo", "feast"], 80, 24, &[]);
        door.wait("the first plan", planned);
        door.signal(name);
        let status = door.end();
        assert!(status.signal().is_some_and(|s| s.contains(said)), "{name}: {status:?}");
        door.assert_given_back();
    }
}

#[test]
fn suspended_it_gives_the_terminal_to_the_shell_and_takes_it_again() {
    // Only under a shell with job control is there somebody to be suspended for.
    let mut door = Door::start(Path::new("/bin/sh"), &["-i"], 80, 24, &[("PS1", "shell> "), ("ENV", "")]);
    door.wait("the shell", |s| s.contains("shell> "));
    door.press(&format!("set -m; {} demo feast\n", env!("CARGO_BIN_EXE_turnday")));
    door.wait("the first plan", planned);
    door.press("\u{1a}");
    door.wait("the shell to have the terminal", |s| s.contains("Stopped"));
    assert!(!door.parser().screen().alternate_screen(), "still on the other screen");
    assert!(!door.parser().screen().hide_cursor(), "the cursor is hidden");
    door.press("fg\n");
    door.wait("the timeline again", planned);
    door.press("q");
    door.wait("the shell again", |s| !planned(s) && s.trim_end().ends_with("shell>"));
    door.press("exit\n");
    door.end();
    door.assert_given_back();
}

/// Keeps nothing.
struct Nothing;

impl turnday::tui::Keeper for Nothing {
    fn deed(&mut self, _: &turnday::app::Deed) -> anyhow::Result<turnday::tui::Kept> {
        Ok(turnday::tui::Kept::default())
    }

    fn catch_up(&mut self) -> anyhow::Result<Option<Box<turnday::app::Held>>> {
        Ok(None)
    }

    fn watched(&self) -> Option<std::path::PathBuf> {
        None
    }
}

/// The folder of a home that a test has for itself.
fn home() -> (tempfile::TempDir, String) {
    let home = tempfile::tempdir().expect("a folder");
    let path = home.path().to_string_lossy().into_owned();
    (home, path)
}

fn shell(home: &str, args: &[&str]) -> String {
    let said = std::process::Command::new(env!("CARGO_BIN_EXE_turnday"))
        .args(args)
        .env_clear()
        .env("HOME", home)
        .output()
        .expect("the program runs");
    assert!(said.status.success(), "{args:?}: {}", String::from_utf8_lossy(&said.stderr));
    String::from_utf8(said.stdout).expect("it prints UTF-8")
}

/// From nothing to a plan on record; a weight written down, the new plan looked at and taken on; a tick from another
/// process followed, a tick of one's own, undone; and everything on record at the end.
#[test]
fn from_nothing_to_a_plan_that_lives() {
    let (_keep, home) = home();
    let env = [("HOME", home.as_str()), ("TZ", "Europe/London")];
    let mut door = Door::open(&[], 110, 34, &env);
    door.wait("the first form", |s| s.contains("Your pork") && s.contains("Welcome"));
    // What has to be said, said as people do; the rest stays as it stands.
    door.press("2.6kg\t\t2.1\t\tin 40 days\t\t\t4 C\tMon-Fri 8:30-17:30 (work)");
    door.wait("what is understood", |s| s.contains("= 2.60 kg") && s.contains("= Mon-Fri 08:30 to 17:30"));
    door.press("\u{13}");
    door.wait("a plan on record", |s| s.contains("the plan is on record") && s.contains("First joint"));
    assert!(shell(&home, &["history"]).contains("plan taken on"));
    // The weight on the scale is another one.
    door.press("rweighed First joint 3.4kg");
    door.wait("its meaning", |s| s.contains("= First joint weighed: 3.4 kg"));
    door.press("\r");
    door.wait("the change told", |s| s.contains("The plan has to change"));
    door.press("C");
    door.wait("old and new side by side", |s| {
        s.contains("old plan") && s.contains("new plan") && s.contains("Happened")
    });
    door.press("a");
    door.wait("the timeline with the new plan", |s| s.contains("the plan is on record") && s.contains("3.4"));
    // Another process ticks a task off; the screen follows.
    let told = shell(&home, &["log", "note First joint: a fine piece"]);
    assert!(!told.is_empty());
    door.press("9");
    door.wait("the note of another process", |s| s.contains("a fine piece"));
    door.press("1 ");
    door.wait("the task in hand done", |s| s.contains("done:"));
    door.press("u");
    door.wait("the tick undone", |s| s.contains("undone:"));
    door.press("q");
    assert_eq!(door.end().exit_code(), 0);
    door.assert_given_back();
    let history = shell(&home, &["history"]);
    assert!(history.matches("plan taken on").count() == 2 && history.contains("a fine piece"), "{history}");
    shell(&home, &["book", "check"]);
    // Opened again it is the book that is there.
    let mut again = Door::open(&[], 110, 34, &env);
    again.wait("the book", |s| s.contains("First joint") && s.contains("3.4"));
    again.press("q");
    assert_eq!(again.end().exit_code(), 0);
}

#[test]
fn a_key_file_with_a_fault_is_told_before_the_screen_opens() {
    let (keep, home) = home();
    std::fs::create_dir_all(keep.path().join(".config/turnday")).unwrap();
    std::fs::write(keep.path().join(".config/turnday/keys.json"), "{\n  \"zoom-in\": \"q\"\n}\n").unwrap();
    let mut door = Door::open(&["demo", "feast"], 90, 24, &[("HOME", &home)]);
    assert_eq!(door.end().exit_code(), 2);
    assert!(door.shown().contains("keys.json:2:") && door.shown().contains("has it already"), "{}", door.shown());
}

#[test]
fn a_storm_of_resizes_and_keys_leaves_it_standing() {
    let mut door = Door::open(&["demo", "feast"], 80, 24, &[]);
    door.wait("the first plan", planned);
    for i in 0..120u16 {
        let (cols, rows) = (40 + i * 37 % 160, 12 + i * 13 % 50);
        door.master.resize(PtySize { rows, cols, pixel_width: 0, pixel_height: 0 }).unwrap();
        door.press(["2", "3", "4", "5", "v\u{1b}", ":x\u{1b}", "K", "\t", "1", "+", "c", "?"][usize::from(i) % 12]);
    }
    door.size = (100, 30);
    door.master.resize(PtySize { rows: 30, cols: 100, pixel_width: 0, pixel_height: 0 }).unwrap();
    door.press("\u{1b}\u{1b}1");
    door.wait("the timeline", planned);
    door.press("q");
    assert_eq!(door.end().exit_code(), 0);
    door.assert_given_back();
}

/// Not a test of its own: what [`a_panic_gives_the_terminal_back_and_is_told`] runs in a terminal.
#[test]
fn child_that_panics() {
    use std::sync::atomic::{AtomicU32, Ordering};
    static CALLS: AtomicU32 = AtomicU32::new(0);
    if std::env::var_os("SCREEN_CHILD").is_none() {
        return;
    }
    let kitchen = crate::fixture::pair_kitchen();
    let first = Some(crate::fixture::pair_plan(&kitchen));
    let session = turnday::tui::Session {
        kitchen,
        first,
        held: None,
        fresh: false,
        text: None,
        planner: None,
        asker: None,
        from_file: false,
        keeper: Box::new(Nothing),
        keymap: Arc::default(),
        // The clock is asked again after the key that the test presses.
        now: || {
            assert!(CALLS.fetch_add(1, Ordering::SeqCst) < 2, "the clock has stopped");
            chrono::DateTime::UNIX_EPOCH
        },
    };
    turnday::tui::run(session).expect("it panics before it ends");
}

#[test]
fn a_panic_gives_the_terminal_back_and_is_told() {
    let me = std::env::current_exe().expect("this test has a file");
    let args = ["terminal::child_that_panics", "--exact", "--nocapture"];
    let mut door = Door::start(&me, &args, 80, 24, &[("SCREEN_CHILD", "1")]);
    door.wait("the timeline", |s| s.contains("Next up"));
    door.press("j");
    assert_eq!(door.end().exit_code(), 101);
    door.assert_given_back();
    let shown = door.shown();
    assert!(shown.contains("the clock has stopped"), "the panic is not told:\n{shown}");
}

#[test]
fn without_colour_nothing_is_coloured() {
    let mut door = Door::open(&["demo", "feast"], 80, 24, &[("NO_COLOR", "1")]);
    door.wait("the first plan", planned);
    door.press("q");
    door.end();
    let raw = String::from_utf8_lossy(&door.raw.lock().unwrap()).into_owned();
    for colour in ["38;5;", "48;5;", "\u{1b}[31m", "\u{1b}[33m"] {
        assert!(!raw.contains(colour), "{colour} was written");
    }
    assert!(raw.contains("\u{1b}[1m"), "bold is still there");
}

#[test]
fn idle_it_uses_no_time() {
    let mut door = Door::open(&["demo", "feast"], 80, 24, &[]);
    door.wait("the plan to be finished", |s| planned(s) && !s.contains("still looking"));
    let pid = door.child.process_id().expect("it runs");
    // Jiffies of user and system time, fields 14 and 15 of /proc/PID/stat (proc(5)).
    let spent = || -> u64 {
        let stat = std::fs::read_to_string(format!("/proc/{pid}/stat")).unwrap_or_default();
        let after = stat.rsplit(')').next().unwrap_or_default();
        after.split_whitespace().skip(11).take(2).filter_map(|f| f.parse::<u64>().ok()).sum()
    };
    if !std::path::Path::new("/proc/self/stat").exists() {
        eprintln!("left out: no /proc on this system");
        return;
    }
    std::thread::sleep(Duration::from_millis(300));
    let before = spent();
    std::thread::sleep(Duration::from_millis(1500));
    assert!(spent() - before <= 1, "{} jiffies while idle", spent() - before);
    door.press("q");
    door.end();
}
