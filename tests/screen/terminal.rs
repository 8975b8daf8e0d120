//! The real program in a real (pseudo) terminal: it opens, moves, zooms, and gives the terminal back however it ends.

use std::path::Path;
use std::time::{Duration, Instant};

use crate::door::{Door, LONG, home, planned};

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
    door.resize(38, 10);
    door.wait("the plain message", |s| s.contains("needs 40"));
    door.resize(120, 40);
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
        door.resize(cols, rows);
        door.press(["2", "3", "4", "5", "v\u{1b}", ":x\u{1b}", "K", "\t", "1", "+", "c", "?"][usize::from(i) % 12]);
    }
    door.resize(100, 30);
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
    let first = crate::fixture::pair_plan(&kitchen);
    // The clock is asked again after the key that the test presses.
    let session = crate::door::session(kitchen, first, || {
        assert!(CALLS.fetch_add(1, Ordering::SeqCst) < 2, "the clock has stopped");
        chrono::DateTime::UNIX_EPOCH
    });
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
    let raw = String::from_utf8_lossy(&door.written()).into_owned();
    for colour in ["38;5;", "48;5;", "\u{1b}[31m", "\u{1b}[33m"] {
        assert!(!raw.contains(colour), "{colour} was written");
    }
    assert!(raw.contains("\u{1b}[1m"), "bold is still there");
}

/// A screen that nobody touches sleeps: not one of its threads is woken for a while. Asked again and again, as what is due
/// at that very moment may wake it.
#[test]
fn idle_nothing_wakes_it() {
    let mut door = Door::open(&["demo", "feast"], 80, 24, &[]);
    door.wait("the plan to be finished", |s| planned(s) && !s.contains("still looking"));
    if door.wakes().is_none() {
        println!("LEFT OUT: no /proc/PID/task/*/status on this system");
        return;
    }
    let end = Instant::now() + LONG;
    loop {
        let before = door.wakes();
        std::thread::sleep(Duration::from_secs(2));
        let after = door.wakes();
        if before == after {
            break;
        }
        assert!(Instant::now() < end, "woken in every two seconds: {before:?} to {after:?}");
    }
    door.press("q");
    door.end();
}
