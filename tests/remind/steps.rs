//! The loop step by step: a clock of the tests' own, doors that answer, refuse and fail, crashes in between.

use super::fixture::{at, book, move_to, plan, task};
use chrono::{DateTime, TimeDelta, Utc};
use std::cell::{Cell, RefCell};
use std::path::Path;
use std::rc::Rc;
use turnday::book::{Act, Book};
use turnday::plan::{Kind, Plan};
use turnday::remind::Settings;
use turnday::remind::popup::{Answer, Door, Popup, on_terminal};
use turnday::remind::run::Nudger;
use turnday::remind::store::Store;

/// What a server has on its screen, and whether it is up.
#[derive(Default)]
struct Screen {
    up: bool,
    next: u32,
    popups: Vec<(u32, Popup)>,
    shown: u32,
}

struct Fake(Rc<RefCell<Screen>>);

impl Door for Fake {
    fn show(&mut self, popup: &Popup) -> Result<u32, String> {
        let mut s = self.0.borrow_mut();
        if !s.up {
            return Err("nobody is there".to_owned());
        }
        s.shown += 1;
        // By number, and by tag as servers that know tags do.
        let old = s.popups.iter().position(|p| p.0 == popup.replaces && p.0 != 0 || p.1.tag == popup.tag);
        let id = match old {
            Some(i) => s.popups.remove(i).0,
            None => {
                s.next += 1;
                s.next
            }
        };
        if !popup.brief {
            s.popups.push((id, popup.clone()));
        }
        Ok(id)
    }

    fn close(&mut self, id: u32) {
        self.0.borrow_mut().popups.retain(|p| p.0 != id);
    }
}

struct Desk {
    folder: tempfile::TempDir,
    screen: Rc<RefCell<Screen>>,
    now: Rc<Cell<DateTime<Utc>>>,
    /// What came to the terminal, if there is one.
    terminal: Rc<RefCell<Vec<String>>>,
    has_terminal: Rc<Cell<bool>>,
    said: Rc<RefCell<Vec<String>>>,
}

impl Desk {
    fn new(plan: &Plan, now: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        book(folder.path(), plan, at("2026-12-01T08:00"));
        Self {
            folder,
            screen: Rc::new(RefCell::new(Screen { up: true, ..Screen::default() })),
            now: Rc::new(Cell::new(at(now))),
            terminal: Rc::default(),
            has_terminal: Rc::default(),
            said: Rc::default(),
        }
    }

    /// A nudger started anew, with what is on the disk.
    fn nudger(&self) -> Nudger<'static> {
        let book = Book::open(self.path(), self.now.get()).unwrap();
        let store = Store::open(&self.path().join("nudger.json"));
        let mut n = Nudger::new(book, store, Settings::default(), Box::new(Fake(Rc::clone(&self.screen))));
        let (now, lines, there, said) =
            (Rc::clone(&self.now), Rc::clone(&self.terminal), Rc::clone(&self.has_terminal), Rc::clone(&self.said));
        n.clock = Box::new(move || now.get());
        n.terminal = Box::new(move |p| {
            lines.borrow_mut().extend(there.get().then(|| p.title.clone()));
            there.get()
        });
        n.say = Box::new(move |s| said.borrow_mut().push(s.to_owned()));
        n
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    fn at(&self, text: &str) {
        self.now.set(at(text));
    }

    fn titles(&self) -> Vec<String> {
        self.screen.borrow().popups.iter().map(|p| p.1.title.clone()).collect()
    }
}

fn one() -> Plan {
    plan(vec![task("a", Kind::Turn, at("2026-12-16T10:00"), 300)])
}

#[test]
fn said_once_noted_in_the_book_and_not_again_after_a_restart() {
    let d = Desk::new(&one(), "2026-12-16T09:00");
    let mut n = d.nudger();
    assert_eq!(n.look(), Some(at("2026-12-16T10:00")));
    d.at("2026-12-16T10:00");
    n.look();
    assert_eq!(d.titles(), ["Now: turn a (Rook & Wren <2>)"]);
    assert_eq!(n.book.state().nudged["a"].len(), 1);
    n.look();
    let mut again = d.nudger();
    again.look();
    assert_eq!(d.screen.borrow().shown, 1);
    // Overdue takes the place of what is there.
    d.at("2026-12-16T10:45");
    again.look();
    assert_eq!((d.titles().len(), d.screen.borrow().shown), (1, 2));
    assert!(d.titles()[0].starts_with("Overdue since 10:00"));
}

#[test]
fn a_crash_between_sent_and_written_down_replaces_its_popup() {
    let d = Desk::new(&one(), "2026-12-16T10:00");
    let before = std::fs::read(d.path().join("nudger.json")).ok();
    let journal = std::fs::read(d.path().join("journal")).unwrap();
    d.nudger().look();
    assert_eq!(d.titles().len(), 1);
    // The disk as it was before.
    assert!(before.is_none());
    std::fs::remove_file(d.path().join("nudger.json")).unwrap();
    std::fs::write(d.path().join("journal"), journal).unwrap();
    d.nudger().look();
    assert_eq!((d.titles().len(), d.screen.borrow().shown), (1, 2), "said again, and one popup still");
    // A memory that cannot be read is begun anew.
    std::fs::write(d.path().join("nudger.json"), "{\"told\": 7").unwrap();
    d.nudger().look();
    assert_eq!(d.titles().len(), 1);
}

#[test]
fn done_and_snooze_go_through_the_book() {
    let d = Desk::new(&one(), "2026-12-16T10:00");
    let mut n = d.nudger();
    n.look();
    let id = d.screen.borrow().popups[0].0;
    n.answer(&Answer::Snooze { id });
    assert_eq!(n.book.state().snoozed["a"], at("2026-12-16T10:30"));
    d.screen.borrow_mut().popups.clear();
    n.answer(&Answer::Closed { id });
    assert_eq!(n.look(), Some(at("2026-12-16T10:30")));
    assert!(d.titles().is_empty());
    d.at("2026-12-16T10:30");
    n.look();
    let id = d.screen.borrow().popups[0].0;
    n.answer(&Answer::Done { id });
    assert!(n.book.state().tasks["a"].finished.is_some());
    assert_eq!(n.look(), None);
    assert!(d.titles().is_empty(), "its popup is taken away");
    // A click on something that is nobody's is no act.
    let seq = n.book.state().seq;
    n.answer(&Answer::Done { id: 999 });
    n.answer(&Answer::Done { id });
    n.look();
    assert_eq!(n.book.state().seq, seq);
}

#[test]
fn answered_elsewhere_or_moved_meanwhile() {
    let d = Desk::new(&one(), "2026-12-16T10:00");
    let mut n = d.nudger();
    n.look();
    let mut p = one();
    move_to(&mut p.tasks[0], at("2026-12-17T10:00"));
    book(d.path(), &p, at("2026-12-16T10:05"));
    d.at("2026-12-16T10:05");
    assert_eq!((n.look(), d.titles().len()), (Some(at("2026-12-17T10:00")), 0));
    d.at("2026-12-17T10:00");
    n.look();
    assert_eq!(d.titles().len(), 1);
    // Done on the screen or by a command: another writer of the same book.
    let done = Act::Task { id: "a".to_owned(), what: turnday::book::TaskAct::Finished, when: at("2026-12-17T10:01") };
    Book::open(d.path(), at("2026-12-17T10:01")).unwrap().record(done, "Ines", at("2026-12-17T10:01")).unwrap();
    n.look();
    assert!(d.titles().is_empty());
    // After a crash that lost the number of a popup, it is taken back by its tag.
    let d = Desk::new(&one(), "2026-12-16T10:00");
    d.nudger().look();
    let text = std::fs::read_to_string(d.path().join("nudger.json")).unwrap();
    std::fs::write(d.path().join("nudger.json"), text.replace("\"a\": 1", "\"a\": 0")).unwrap();
    book(d.path(), &p, at("2026-12-16T10:05"));
    d.nudger().look();
    assert!(d.titles().is_empty());
}

#[test]
fn when_the_only_plan_is_undone_its_popups_go_and_come_again_with_it() {
    let d = Desk::new(&one(), "2026-12-16T10:00");
    let mut n = d.nudger();
    n.look();
    let id = d.screen.borrow().popups[0].0;
    let mut other = Book::open(d.path(), at("2026-12-16T10:05")).unwrap();
    other.undo(None, "", at("2026-12-16T10:05")).unwrap();
    d.at("2026-12-16T10:05");
    assert_eq!((n.look(), d.titles().len()), (None, 0));
    // A click that was under way when it went.
    let seq = n.book.state().seq;
    n.answer(&Answer::Done { id });
    assert_eq!(n.book.state().seq, seq);
    other.redo(None, "", at("2026-12-16T10:06")).unwrap();
    n.look();
    assert_eq!(d.titles().len(), 1);
}

#[test]
fn a_plan_that_cannot_be_read_is_told_once() {
    let d = Desk::new(&one(), "2026-12-16T10:00");
    let mut n = d.nudger();
    let unreadable = |now: &str| {
        let plan = turnday::book::RawPlan::new("{\"format\": 1}").unwrap();
        let act = Act::PlanAccepted { plan, lines: Vec::new(), says: now.to_owned(), moved: 0 };
        Book::open(d.path(), at(now)).unwrap().record(act, "", at(now)).unwrap();
    };
    unreadable("2026-12-16T10:05");
    n.look();
    n.look();
    assert_eq!(d.said.borrow().len(), 1, "{:?}", d.said.borrow());
    // Another one is told again; one that can be read needs no word.
    unreadable("2026-12-16T10:06");
    n.look();
    n.look();
    assert_eq!(d.said.borrow().len(), 2, "{:?}", d.said.borrow());
    book(d.path(), &one(), at("2026-12-16T10:07"));
    n.look();
    assert_eq!((d.said.borrow().len(), d.titles().len()), (2, 1));
}

#[test]
fn without_a_desktop_the_terminal_and_said_once() {
    let p =
        plan(vec![task("a", Kind::Turn, at("2026-12-16T10:00"), 0), task("b", Kind::Turn, at("2026-12-16T12:00"), 0)]);
    let d = Desk::new(&p, "2026-12-16T10:00");
    d.screen.borrow_mut().up = false;
    d.has_terminal.set(true);
    let mut n = d.nudger();
    n.look();
    d.at("2026-12-16T12:00");
    n.look();
    assert_eq!(d.terminal.borrow().len(), 2, "{:?}", d.terminal.borrow());
    assert_eq!(*d.said.borrow(), ["no desktop notifications (nobody is there); nudges come here"]);
    assert_eq!(n.book.state().nudged.len(), 2, "in the book all the same");
    // Back again, and away again: said again.
    d.screen.borrow_mut().up = true;
    d.at("2026-12-16T12:45");
    n.look();
    assert_eq!(d.titles().len(), 1);
    d.screen.borrow_mut().up = false;
    d.at("2026-12-17T12:45");
    n.look();
    assert_eq!(d.said.borrow().len(), 2);
}

#[test]
fn with_nobody_to_be_reached_it_is_tried_again_and_not_counted_as_said() {
    let d = Desk::new(&one(), "2026-12-16T10:00");
    d.screen.borrow_mut().up = false;
    let mut n = d.nudger();
    let mut minutes = Vec::new();
    for _ in 0..6 {
        let next = n.look().unwrap();
        minutes.push((next - d.now.get()).num_minutes());
        d.now.set(next);
    }
    assert_eq!(minutes, [1, 2, 5, 15, 15, 7], "the last is the overdue rung");
    assert!(n.book.state().nudged.is_empty());
    assert_eq!(d.said.borrow().len(), 1);
    d.screen.borrow_mut().up = true;
    n.look();
    assert_eq!((d.titles().len(), n.book.state().nudged["a"].len()), (1, 1));
}

#[test]
fn a_summary_after_a_night_off() {
    let p = plan((0..5).map(|i| task(&format!("t{i}"), Kind::Turn, at("2026-12-16T10:00"), 0)).collect());
    let d = Desk::new(&p, "2026-12-16T08:00");
    d.nudger().look();
    d.now.set(at("2026-12-16T08:00") + TimeDelta::days(2));
    d.nudger().look();
    assert_eq!(d.titles(), ["While nobody looked: 5 jobs"]);
    d.nudger().look();
    assert_eq!(d.screen.borrow().shown, 1);
}

#[test]
fn nothing_in_a_name_speaks_to_the_terminal() {
    let popup = Popup {
        tag: String::new(),
        replaces: 0,
        title: "Now: \x1b[2Jturn\x07".to_owned(),
        body: vec!["a\r\x1b]52;c;x\x07b".to_owned()],
        urgent: false,
        asks: true,
        brief: false,
    };
    let mut out = Vec::new();
    on_terminal(&popup, &mut out).unwrap();
    let text = String::from_utf8(out).unwrap();
    assert_eq!(text, "\x07\x1b]2;Now: [2Jturn\x1b\\Now: [2Jturn\n  a]52;c;xb\n");
}
