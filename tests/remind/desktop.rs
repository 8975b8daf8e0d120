//! The real program against real and broken notification servers, each on a private bus.

use super::fixture::{book, plan, task};
use chrono::{TimeDelta, Utc};
use std::io::Read;
use std::path::{Path, PathBuf};
use std::pin::Pin;
use std::process::{Child, Command, Stdio};
use std::time::Duration;
use turnday::book::Book;
use turnday::plan::Kind;
use zbus::export::futures_core::Stream;

/// A process that ends with the test.
struct Running(Child);

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

fn start(program: &str, args: &[&str], env: &[(&str, &str)], log: &Path) -> Running {
    let log = std::fs::File::create(log).unwrap();
    let mut c = Command::new(program);
    c.args(args).envs(env.iter().copied()).stdin(Stdio::null()).stdout(log.try_clone().unwrap()).stderr(log);
    Running(c.spawn().unwrap_or_else(|e| panic!("{program}: {e}")))
}

#[track_caller]
fn until(what: &str, mut holds: impl FnMut() -> bool) {
    for _ in 0..400 {
        if holds() {
            return;
        }
        std::thread::sleep(Duration::from_millis(50));
    }
    panic!("waited in vain for: {what}");
}

fn there(programs: &[&str], what: &str) -> bool {
    let path = std::env::var_os("PATH").unwrap_or_default();
    let missing: Vec<&&str> =
        programs.iter().filter(|p| !std::env::split_paths(&path).any(|d| d.join(p).is_file())).collect();
    if !missing.is_empty() {
        println!("LEFT OUT: {what}: there is no {missing:?} (tests/all.sh installs them)");
    }
    missing.is_empty()
}

/// A bus of the test's own.
struct Bus {
    folder: tempfile::TempDir,
    address: String,
    _daemon: Running,
}

impl Bus {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let socket = folder.path().join("bus");
        let address = format!("unix:path={}", socket.display());
        let args = ["--session", "--nofork", "--nopidfile", "--address", &address];
        let daemon = start("dbus-daemon", &args, &[], &folder.path().join("bus.log"));
        until("the bus", || socket.exists());
        Self { folder, address, _daemon: daemon }
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    fn book(&self) -> PathBuf {
        self.path().join("book")
    }

    /// Two turns: one due now, one in a few seconds.
    fn begin(&self, ids: &[(&str, i64)]) {
        let now = Utc::now_for_tests();
        let tasks = ids.iter().map(|(id, s)| task(id, Kind::Turn, now + TimeDelta::seconds(*s), 300)).collect();
        book(&self.book(), &plan(tasks), now);
        // No quiet hours, whatever the time at which the tests run.
        std::fs::write(self.path().join("nudges.json"), "{\"quiet\": null}").unwrap();
    }

    /// The plan of a demo kitchen, moved so that its second turn is due now and what comes before is done; that turn's id.
    fn begin_with_a_real_plan(&self) -> String {
        let now = Utc::now_for_tests();
        let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data/feast-pair.json");
        let args = ["plan", demo.to_str().unwrap(), "--steps", "60", "--json"];
        let out = Command::new(env!("CARGO_BIN_EXE_turnday")).args(args).output().unwrap();
        let mut plan: turnday::plan::Plan = serde_json::from_slice(&out.stdout).unwrap();
        let turn = plan.tasks.iter().filter(|t| t.kind == Kind::Turn).nth(1).unwrap().clone();
        let by = now - TimeDelta::seconds(60) - turn.start.with_timezone(&Utc);
        for t in &mut plan.tasks {
            for at in [&mut t.start, &mut t.end, &mut t.slow_end, &mut t.earliest, &mut t.latest] {
                *at += by;
            }
        }
        let mut book = book(&self.book(), &plan, now - TimeDelta::days(30));
        for t in plan.tasks.iter().filter(|t| t.start < turn.start + by) {
            let when = t.end.with_timezone(&Utc).min(now);
            let act = turnday::book::Act::Task { id: t.id.clone(), what: turnday::book::TaskAct::Finished, when };
            book.record(act, "Linnet", now).unwrap();
        }
        std::fs::write(self.path().join("nudges.json"), "{\"quiet\": null}").unwrap();
        turn.id
    }

    fn remind(&self, address: &str, name: &str) -> Running {
        let (settings, folder) = (self.path().join("nudges.json"), self.book());
        let args = ["remind", "--book", folder.to_str().unwrap(), "--settings", settings.to_str().unwrap()];
        let home = self.path().to_str().unwrap();
        let env = [("DBUS_SESSION_BUS_ADDRESS", address), ("HOME", home), ("TZ", "UTC")];
        start(env!("CARGO_BIN_EXE_turnday"), &args, &env, &self.path().join(name))
    }

    fn opened(&self) -> Book {
        Book::open(&self.book(), Utc::now_for_tests()).unwrap()
    }

    fn finished(&self, id: &str) -> bool {
        self.opened().state().tasks.get(id).is_some_and(|t| t.finished.is_some())
    }

    fn nudged(&self, id: &str) -> usize {
        self.opened().state().nudged.get(id).map_or(0, std::collections::BTreeMap::len)
    }
}

/// The tests run in real time here; everywhere else time is passed in.
trait Now {
    fn now_for_tests() -> chrono::DateTime<Utc>;
}

impl Now for Utc {
    fn now_for_tests() -> chrono::DateTime<Utc> {
        turnday::clock::now()
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Mode {
    /// Answers, and a click on "done" comes before its own answer.
    AtOnce,
    /// Never answers.
    Hangs,
    /// Answers once, then leaves the bus at the second popup.
    Dies,
}

/// A notification server of the tests' own.
fn serve(address: &str, mode: Mode) -> std::thread::JoinHandle<u32> {
    let (tx, rx) = std::sync::mpsc::channel();
    let address = address.to_owned();
    let thread = std::thread::spawn(move || {
        zbus::block_on(async {
            let address: zbus::Address = address.parse().unwrap();
            let bus = zbus::connection::Builder::address(address).build().await.unwrap();
            let mut calls = zbus::MessageStream::from(&bus);
            bus.request_name("org.freedesktop.Notifications").await.unwrap();
            tx.send(()).unwrap();
            let mut shown = 0;
            loop {
                let next = std::future::poll_fn(|cx| Pin::new(&mut calls).poll_next(cx)).await;
                let Some(Ok(message)) = next else { return shown };
                let header = message.header();
                if header.member().is_none_or(|m| m != "Notify") {
                    continue;
                }
                shown += 1;
                match mode {
                    Mode::Hangs => {}
                    Mode::Dies if shown > 1 => return shown,
                    Mode::Dies => bus.reply(&header, &shown).await.unwrap(),
                    Mode::AtOnce => {
                        let path = "/org/freedesktop/Notifications";
                        let click = (shown, "done");
                        bus.emit_signal(None::<&str>, path, "org.freedesktop.Notifications", "ActionInvoked", &click)
                            .await
                            .unwrap();
                        bus.reply(&header, &shown).await.unwrap();
                    }
                }
            }
        })
    });
    rx.recv_timeout(Duration::from_secs(10)).unwrap();
    thread
}

#[test]
fn a_click_that_comes_before_the_answer_is_not_lost() {
    if !there(&["dbus-daemon"], "nudges over a private bus") {
        return;
    }
    let bus = Bus::new();
    bus.begin(&[("a", 0), ("b", 2)]);
    let _server = serve(&bus.address, Mode::AtOnce);
    let _nudger = bus.remind(&bus.address, "nudger.log");
    until("both done by a click", || bus.finished("a") && bus.finished("b"));
    // A second nudger for the same book ends by itself and says so.
    let mut second = bus.remind(&bus.address, "second.log");
    until("the second nudger to end", || second.0.try_wait().unwrap().is_some());
    assert_eq!(second.0.wait().unwrap().code(), Some(1));
    let said = std::fs::read_to_string(bus.path().join("second.log")).unwrap();
    assert!(said.contains("running already"), "{said}");
}

/// The program on a pseudo-terminal: what it printed.
fn on_a_terminal(bus: &Bus, address: &str, wait_for: &str) -> String {
    use portable_pty::{CommandBuilder, PtySize, native_pty_system};
    let pair = native_pty_system().openpty(PtySize { rows: 40, cols: 200, pixel_width: 0, pixel_height: 0 }).unwrap();
    let mut c = CommandBuilder::new(env!("CARGO_BIN_EXE_turnday"));
    let (book, settings) = (bus.book(), bus.path().join("nudges.json"));
    c.args(["remind", "--book", book.to_str().unwrap(), "--settings", settings.to_str().unwrap()]);
    c.env("DBUS_SESSION_BUS_ADDRESS", address);
    c.env("HOME", bus.path());
    let mut child = pair.slave.spawn_command(c).unwrap();
    let mut reader = pair.master.try_clone_reader().unwrap();
    let (tx, rx) = std::sync::mpsc::channel();
    std::thread::spawn(move || {
        let mut buffer = [0u8; 4096];
        while let Ok(n) = reader.read(&mut buffer) {
            if n == 0 || tx.send(buffer[..n].to_vec()).is_err() {
                return;
            }
        }
    });
    let mut out = String::new();
    until(wait_for, || {
        out.extend(rx.try_iter().map(|b| String::from_utf8_lossy(&b).into_owned()));
        out.contains(wait_for)
    });
    until("both in the book", || bus.nudged("a") == 1 && bus.nudged("b") == 1);
    child.kill().unwrap();
    let _ = child.wait();
    out
}

#[test]
fn no_bus_a_hanging_server_and_one_that_dies_end_at_the_terminal_said_once() {
    if !there(&["dbus-daemon"], "nudges over a private bus") {
        return;
    }
    for mode in [None, Some(Mode::Hangs), Some(Mode::Dies)] {
        let bus = Bus::new();
        let second = if mode == Some(Mode::Hangs) { 7 } else { 2 };
        bus.begin(&[("a", 0), ("b", second)]);
        let server = mode.map(|m| serve(&bus.address, m));
        let address = if mode.is_none() { "unix:path=/nonexistent/bus".to_owned() } else { bus.address.clone() };
        let out = on_a_terminal(&bus, &address, "turn b");
        assert_eq!(out.matches("no desktop notifications").count(), 1, "{out}");
        assert!(out.contains('\x07') && out.contains("\x1b]2;Now: turn b (Rook & Wren <2>)"), "{out}");
        assert!(out.contains("If it slips:"), "{out}");
        drop(server);
    }
}

/// Xvfb, dunst, and a way to click.
struct Dunst {
    bus: Bus,
    display: String,
    _screen: Running,
    _server: Running,
}

impl Dunst {
    fn new() -> Self {
        let bus = Bus::new();
        let dir = bus.path().to_owned();
        let number = dir.join("display");
        let screen = {
            let out = std::fs::File::create(&number).unwrap();
            let mut c = Command::new("Xvfb");
            c.args(["-displayfd", "1", "-screen", "0", "900x420x24", "-nolisten", "tcp", "-noreset"]);
            c.stdin(Stdio::null()).stdout(out).stderr(Stdio::null());
            Running(c.spawn().unwrap())
        };
        until("the display", || std::fs::read_to_string(&number).is_ok_and(|s| s.ends_with('\n')));
        let display = format!(":{}", std::fs::read_to_string(&number).unwrap().trim());
        // The menu of actions, answered by what the test wrote last.
        let menu = dir.join("menu.sh");
        std::fs::write(&menu, format!("#!/bin/sh\ngrep -i \"$(cat {})\" | head -1\n", dir.join("choice").display()))
            .unwrap();
        let config = dir.join("dunstrc");
        std::fs::write(
            &config,
            format!(
                "[global]\n width = 560\n height = 300\n origin = top-right\n font = DejaVu Sans 11\n markup = full\n \
                 history_length = 50\n sticky_history = yes\n idle_threshold = 0\n dmenu = /bin/sh {}\n",
                menu.display()
            ),
        )
        .unwrap();
        let env = [
            ("DBUS_SESSION_BUS_ADDRESS", bus.address.as_str()),
            ("DISPLAY", &display),
            ("HOME", dir.to_str().unwrap()),
        ];
        let server = start("dunst", &["-config", config.to_str().unwrap()], &env, &dir.join("dunst.log"));
        let dunst = Self { bus, display, _screen: screen, _server: server };
        until("dunst", || dunst.ctl(&["count", "displayed"]).is_some());
        dunst
    }

    fn ctl(&self, args: &[&str]) -> Option<String> {
        let mut c = Command::new("dunstctl");
        c.args(args).env("DBUS_SESSION_BUS_ADDRESS", &self.bus.address).env("DISPLAY", &self.display);
        let out = c.stderr(Stdio::null()).output().unwrap();
        out.status.success().then(|| String::from_utf8_lossy(&out.stdout).trim().to_owned())
    }

    fn displayed(&self) -> usize {
        self.ctl(&["count", "displayed"]).and_then(|n| n.parse().ok()).unwrap_or(99)
    }

    fn click(&self, choice: &str) {
        std::fs::write(self.bus.path().join("choice"), choice).unwrap();
        self.ctl(&["context"]);
    }
}

/// Resident memory, and the part of it that is not the program's file.
fn memory_kib(pid: u32) -> [u64; 2] {
    let status = std::fs::read_to_string(format!("/proc/{pid}/status")).unwrap();
    ["VmRSS:", "RssAnon:"].map(|name| {
        let line = status.lines().find(|l| l.starts_with(name)).unwrap();
        line.split_whitespace().nth(1).unwrap().parse().unwrap()
    })
}

/// Processor time used so far, in clock ticks.
fn ticks(pid: u32) -> u64 {
    let stat = std::fs::read_to_string(format!("/proc/{pid}/stat")).unwrap();
    let rest: Vec<&str> = stat.rsplit_once(')').unwrap().1.split_whitespace().collect();
    rest[11].parse::<u64>().unwrap() + rest[12].parse::<u64>().unwrap()
}

#[test]
fn a_real_server_shows_it_replaces_it_and_its_buttons_work() {
    if !there(&["dbus-daemon", "Xvfb", "dunst", "dunstctl", "import"], "nudges on a real notification server") {
        return;
    }
    let d = Dunst::new();
    let id = d.bus.begin_with_a_real_plan();
    let id = id.as_str();
    let nudger = d.bus.remind(&d.bus.address, "nudger.log");
    until("the popup", || d.displayed() == 1);
    until("it is written down", || d.bus.nudged(id) == 1);
    // Killed, and what was said forgotten, as if it had died before it could write: one popup still.
    drop(nudger);
    std::fs::remove_file(d.bus.book().join("nudger.json")).unwrap();
    let nudger = d.bus.remind(&d.bus.address, "nudger.log");
    let kept = d.bus.book().join("nudger.json");
    until("said again", || std::fs::read_to_string(&kept).is_ok_and(|t| t.contains("moment")));
    assert_eq!(d.displayed(), 1, "the repeat replaced its popup");
    let picture =
        std::env::var_os("TURNDAY_NUDGE_PICTURE").map_or_else(|| d.bus.path().join("popup.png"), PathBuf::from);
    std::thread::sleep(Duration::from_millis(300));
    let import =
        Command::new("import").args(["-display", &d.display, "-window", "root"]).arg(&picture).status().unwrap();
    assert!(import.success() && std::fs::metadata(&picture).unwrap().len() > 2000);
    // Nothing to do: no processor time, little memory.
    let pid = nudger.0.id();
    let before = ticks(pid);
    std::thread::sleep(Duration::from_secs(3));
    let (used, [all, own]) = (ticks(pid) - before, memory_kib(pid));
    println!("idle: {used} clock ticks in 3 s, {all} KiB resident, {own} KiB of it not the program's file");
    assert_eq!(used, 0, "it does something while there is nothing to do");
    // Without optimizing the program's own pages are many; a release build is held to the whole.
    assert!(own < 8 * 1024 && (cfg!(debug_assertions) || all < 15 * 1024), "{own} of {all} KiB");
    // Snooze, then done.
    d.click("snooze");
    until("snoozed in the book", || d.bus.opened().state().snoozed.contains_key(id));
    until("the popup is gone", || d.displayed() == 0);
    d.bus.begin(&[("c", -60)]);
    until("the next popup", || d.displayed() == 1);
    d.click("done");
    until("done in the book", || d.bus.finished("c"));
    until("the popup is gone", || d.displayed() == 0);
    let history = d.ctl(&["history"]).unwrap();
    assert!(history.contains("Rook &amp; Wren &lt;2&gt;") && history.contains("If it slips"), "{history}");
}
