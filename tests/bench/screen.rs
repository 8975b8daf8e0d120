//! The screen by the clock: from a key to its frame on every view, the first frame from a cold start, memory, and how often
//! an idle screen is woken.
//!
//! ```sh
//! cargo bench --bench screen                 # all of it, against its goals
//! cargo bench --bench screen -- frames idle  # some of: frames, start, memory, idle
//! ```
//!
//! Frames are drawn at 200 columns by 60 rows with 60 joints and 3,000 tasks, and written as the bytes a terminal would
//! get. The others open the real program in a pseudo-terminal of that size.

#[path = "../screen/door.rs"]
#[allow(dead_code)]
mod door;
#[path = "../screen/fixture.rs"]
#[allow(dead_code)]
mod fixture;

use std::sync::Arc;
use std::time::{Duration, Instant};

use chrono::TimeDelta;
use door::{Door, home, shell};
use ratatui::backend::CrosstermBackend;
use ratatui::layout::Rect;
use ratatui::{Terminal, TerminalOptions, Viewport};
use turnday::app::{Chart, Code, Inks, Key, Keymap, Message, Screen, State, View, time, update};
use turnday::kitchen::Kitchen;
use turnday::plan::Plan;
use turnday::tui::{Depth, Theme, draw};

const COLS: u16 = 200;
const ROWS: u16 = 60;

fn main() {
    if std::env::args().any(|a| a == CHILD) {
        return opened_by_itself();
    }
    let asked: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with('-')).collect();
    let wanted = |part: &str| asked.is_empty() || asked.iter().any(|a| a == part);
    if wanted("frames") {
        frames();
    }
    if wanted("start") {
        start();
    }
    if wanted("memory") || wanted("idle") {
        memory_and_idle(wanted("idle"));
    }
}

/// A plan of 60 joints with its turns and visits repeated until there are 3,000 tasks.
fn crowded() -> (Arc<Kitchen>, Plan) {
    let kitchen = fixture::many_kitchen(60);
    let mut plan = fixture::many_plan(&kitchen);
    let made = plan.tasks.clone();
    for round in 1.. {
        let shift = TimeDelta::minutes(37 * round);
        for t in &made {
            if plan.tasks.len() == 3000 {
                plan.tasks.sort_by_key(|t| t.start);
                return (kitchen, plan);
            }
            let mut t = t.clone();
            t.id = format!("{} again {round}", t.id);
            for at in [&mut t.start, &mut t.end, &mut t.slow_end, &mut t.earliest, &mut t.latest] {
                *at += shift;
            }
            plan.tasks.push(t);
        }
    }
    unreachable!("rounds do not end")
}

fn opened() -> State {
    let (kitchen, plan) = crowded();
    let now = time::minute_utc(fixture::utc(kitchen.zone, "2026-12-01 09:00"));
    let state = State::new(kitchen, now);
    let mut state = update(state, Message::Resize(Screen { cols: COLS, rows: ROWS })).0;
    let chart = Chart::new(&state.kitchen, plan, state.now);
    state.adopt(chart);
    state.proposal = Some(Arc::new(fixture::proposal(&state)));
    state
}

const THEME: Theme = Theme { inks: Inks::Dark, depth: Depth::True };

/// How long things took, sorted.
struct Times(Vec<Duration>);

impl Times {
    fn of(rounds: usize, mut act: impl FnMut(usize)) -> Self {
        let mut all: Vec<Duration> = (0..rounds)
            .map(|i| {
                let begun = Instant::now();
                act(i);
                begun.elapsed()
            })
            .collect();
        all.sort_unstable();
        Self(all)
    }

    /// The least time that so many of a hundred were not over.
    fn percentile(&self, of_100: usize) -> f64 {
        let i = (self.0.len() * of_100).div_ceil(100).clamp(1, self.0.len()) - 1;
        self.0[i].as_secs_f64() * 1e3
    }

    fn tell(&self, what: &str, goal: f64) {
        let (median, p99, worst) = (self.percentile(50), self.percentile(99), self.percentile(100));
        let word = if p99 <= goal { "" } else { "  over the goal" };
        println!("{what:<44} {median:9.3} {p99:9.3} {worst:9.3}   of {}{word}", self.0.len());
    }
}

fn head(title: &str) {
    println!("\n{title:<44} {:>9} {:>9} {:>9}", "median", "p99", "worst");
}

/// A key, the change it makes, the frame that shows it, and the bytes by which it differs from the frame before.
fn frames() {
    const GOAL: f64 = 16.0;
    head("key to frame, ms (goal: p99 16)");
    let mut state = Some(opened());
    let area = Rect::new(0, 0, COLS, ROWS);
    let options = TerminalOptions { viewport: Viewport::Fixed(area) };
    // The bytes are made and thrown away.
    let mut terminal = Terminal::with_options(CrosstermBackend::new(std::io::sink()), options).expect("a terminal");
    let mut press = |key: Key| {
        let (after, _) = update(state.take().expect("put back below"), Message::Key(key));
        terminal.draw(|f| drop(draw::frame(&after, THEME, f.buffer_mut()))).expect("drawn in memory");
        state = Some(after);
    };
    let [up, down, left, right] = [Code::Up, Code::Down, Code::Left, Code::Right].map(Key::of);
    let keymap = Keymap::default();
    let to_view = |v: View| *keymap.keys(v.command()).first().expect("a view has a key");
    // Opened from another view, each time laid out anew.
    for view in View::ALL {
        let from = if view == View::Timeline { View::Day } else { View::Timeline };
        let opened = Times::of(1000, |i| press(to_view(if i % 2 == 0 { from } else { view })));
        opened.tell(&format!("{}: opened and left", view.title()), GOAL);
        for (name, there, back) in [("up and down", down, up), ("left and right", right, left)] {
            press(to_view(view));
            // So many steps one way, then so many back: over all of the view.
            let times = Times::of(1000, |i| press(if i / 50 % 2 == 0 { there } else { back }));
            times.tell(&format!("{}: {name}", view.title()), GOAL);
        }
        press(to_view(View::Timeline));
    }
    for (name, keys) in [
        ("task after, task before", [Key::of(Code::Tab), Key::of(Code::BackTab)]),
        ("zoom in and out", [Key::char('+'), Key::char('-')]),
        ("look later and earlier", [Key::char('L'), Key::char('H')]),
        ("the next turn", [Key::char('t'), Key::char('t')]),
        ("help opened and closed", [Key::char('?'), Key::of(Code::Escape)]),
    ] {
        Times::of(1000, |i| press(keys[i % 2])).tell(&format!("Timeline: {name}"), GOAL);
    }
    press(Key::char('/'));
    let letters: Vec<char> = "turn t7 dec".chars().collect();
    Times::of(1000, |i| {
        let i = i % (2 * letters.len());
        press(letters.get(i).map_or(Key::of(Code::Backspace), |c| Key::char(*c)));
    })
    .tell("a letter of a search over all tasks", GOAL);
    let (kitchen, plan) = crowded();
    // No key, but a key that falls on that moment waits for it.
    Times::of(50, |_| drop(Chart::new(&kitchen, plan.clone(), 0))).tell("a new plan laid out", GOAL);
}

/// From the start of the process to its first frame, in a terminal that is there already.
fn start() {
    const GOAL: f64 = 50.0;
    head("first frame from a cold start, ms (goal: 50)");
    let drawn = |door: &Door| {
        let written = door.written();
        // The end of the first synchronised update: the whole frame is out.
        written.windows(8).any(|w| w == b"\x1b[?2026l")
    };
    let first_frame = |args: &[&str], env: &[(&str, &str)]| {
        let begun = Instant::now();
        let mut door = Door::open(args, COLS, ROWS, env);
        while !drawn(&door) {
            assert!(begun.elapsed() < door::LONG, "nothing is drawn:\n{}", door.shown());
            std::thread::sleep(Duration::from_micros(200));
        }
        let took = begun.elapsed();
        door.press("q");
        door.end();
        took
    };
    let times = |what: &str, args: &[&str], env: &[(&str, &str)]| {
        let mut all: Vec<Duration> = (0..40).map(|_| first_frame(args, env)).collect();
        all.sort_unstable();
        Times(all).tell(what, GOAL);
    };
    times("turnday demo feast", &["demo", "feast"], &[]);
    times("turnday demo shop", &["demo", "shop"], &[]);
    let (_keep, home) = home();
    let kitchen = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data/feast-pair.json");
    shell(&home, &["start", kitchen]);
    times("turnday, with a book and its plan", &[], &[("HOME", &home)]);
}

/// The word by which this program opens the plan of 60 joints on the screen, in a terminal of its own.
const CHILD: &str = "--open-sixty";

fn opened_by_itself() {
    let (kitchen, plan) = crowded();
    turnday::tui::run(door::session(kitchen, plan, turnday::clock::now)).expect("the screen opens");
}

/// What the program holds in memory once it has finished planning and every view was looked at, and how often it is woken
/// when nothing is due.
fn memory_and_idle(idle: bool) {
    const GOAL: f64 = 40.0;
    println!("\nmemory and sleep (goals: 40 MiB at rest, never woken while nothing is due)");
    let me = std::env::current_exe().expect("this program has a file");
    let turnday = std::path::PathBuf::from(env!("CARGO_BIN_EXE_turnday"));
    for (what, program, args) in [
        ("turnday demo five", &turnday, vec!["demo", "five"]),
        ("turnday demo shop", &turnday, vec!["demo", "shop"]),
        ("60 joints, 3,000 tasks", &me, vec![CHILD]),
    ] {
        let mut door = Door::start(program, &args, COLS, ROWS, &[]);
        let planned = |s: &str| s.contains("Best found") || s.contains("Proven best");
        door.wait("a plan", planned);
        let first = resident(door.pid(), "VmRSS");
        door.wait("the end of planning", |s| planned(s) && !s.contains("still looking"));
        // With what each view reckons when it is first looked at.
        for (key, title) in [("2", "Day"), ("3", "Turns"), ("4", "Tubs and cold"), ("5", "Joint"), ("7", "Cook day")] {
            door.press(key);
            door.wait(title, |s| s.lines().any(|l| l.trim_start().starts_with(title)));
        }
        door.press("1");
        door.wait("the timeline again", planned);
        let (rest, peak) = (resident(door.pid(), "VmRSS"), resident(door.pid(), "VmHWM"));
        let word = if rest <= GOAL { "" } else { "  over the goal" };
        println!("{what:<24} first plan {first:6.1} MiB, at rest {rest:6.1} MiB, peak {peak:6.1} MiB{word}");
        if idle {
            let before = door.wakes();
            std::thread::sleep(Duration::from_secs(20));
            let after = door.wakes();
            let woken = |t: (&String, &u64)| {
                let n = t.1 - before.as_ref().and_then(|b| b.get(t.0)).unwrap_or(&0);
                (n > 0).then(|| format!("{} {n} times", t.0))
            };
            let by: Vec<String> = after.iter().flatten().filter_map(woken).collect();
            let told = if by.is_empty() { "never woken".to_owned() } else { format!("woken: {}", by.join(", ")) };
            println!("{what:<24} in 20 s idle {told}, {} threads", after.map_or(0, |a| a.len()));
        }
        door.press("q");
        door.end();
    }
}

/// A line of /proc/PID/status (proc(5)) that counts kibibytes, in MiB.
fn resident(pid: u32, line: &str) -> f64 {
    let status = std::fs::read_to_string(format!("/proc/{pid}/status")).unwrap_or_default();
    let of = |l: &&str| l.starts_with(line);
    let kib = status.lines().find(of).and_then(|l| l.split_whitespace().nth(1)?.parse::<f64>().ok());
    kib.unwrap_or(f64::NAN) / 1024.0
}
