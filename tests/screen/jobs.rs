//! Whole jobs of a person, in a terminal, with a book in a home of their own: from the first run to a plan, a weight
//! written down and the new plan taken on, a turn ticked off, a task moved, a weekend away asked about, trouble told, and
//! the power gone in the middle of it all.

use chrono::TimeDelta;

use crate::door::{Door, home, shell};

/// A kitchen file with the pair of the other tests, wanted in so many days from now.
fn with_file(days: i64) -> (tempfile::TempDir, String, String) {
    let (keep, home) = home();
    let mut kitchen: serde_json::Value = serde_json::from_str(include_str!("pair.json")).expect("it is JSON");
    let wanted = turnday::clock::now() + TimeDelta::days(days);
    kitchen["joints"][0]["ready_by"] = wanted.format("%Y-%m-%d 18:00").to_string().into();
    for person in kitchen["people"].as_array_mut().expect("people") {
        person.as_object_mut().expect("a person").retain(|field, _| field == "name");
    }
    // Cooked ham is kept apart from raw.
    let shelf = serde_json::json!({ "name": "top shelf", "width": 46, "depth": 38, "height": 20, "temperature": 4, "side": "cooked" });
    kitchen["kit"]["cold"].as_array_mut().expect("cold spaces").push(shelf);
    let file = keep.path().join("kitchen.json");
    std::fs::write(&file, kitchen.to_string()).expect("it can be written");
    (keep, home, file.to_string_lossy().into_owned())
}

/// A book of it, with its plan.
fn with_book() -> (tempfile::TempDir, String) {
    with_book_for(40)
}

fn with_book_for(days: i64) -> (tempfile::TempDir, String) {
    let (keep, home, file) = with_file(days);
    shell(&home, &["start", &file, "--steps", "400"]);
    (keep, home)
}

fn opened(home: &str) -> Door {
    let door = Door::open(&[], 110, 34, &[("HOME", home), ("TZ", "Europe/London")]);
    door.wait("the book's plan", |s| s.contains("shank") && s.contains("fillet") && s.contains("Next"));
    door
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

fn a_turn_in_hand(shown: &str) -> bool {
    shown.contains("Turn b") && shown.contains("move the meat, stir")
}

/// The next turn is ticked off by one key; the screen, the view of turns and the record say so.
#[test]
fn a_turn_is_ticked_off() {
    let (_keep, home) = with_book();
    let mut door = opened(&home);
    door.press("t");
    door.wait("the next turn in hand", a_turn_in_hand);
    door.press(" ");
    door.wait("the tick", |s| s.contains("done: turn b"));
    door.press("3");
    door.wait("the turn done among the turns", |s| s.contains("●"));
    door.press("q");
    assert_eq!(door.end().exit_code(), 0);
    let history = shell(&home, &["history"]);
    assert!(history.contains("turn b"), "{history}");
    shell(&home, &["book", "check"]);
}

/// A lift weeks before its time is asked about before it is ticked off: the same key says that it is so.
#[test]
fn a_lift_before_its_time_is_ticked_off_only_when_asked_twice() {
    let (_keep, home) = with_book();
    let mut door = opened(&home);
    door.press("/lift shank");
    door.press("\r");
    door.press(" ");
    door.wait("the doubt", |s| s.contains("Again, if so: lift shank"));
    assert!(!shell(&home, &["history"]).contains("lift shank: done"));
    door.press(" ");
    door.wait("the tick", |s| s.contains("done: lift shank"));
    door.press("q");
    assert_eq!(door.end().exit_code(), 0);
    assert!(shell(&home, &["history"]).contains("lift shank: done"));
}

/// What cannot be done now is put off by a key, told beside the task, and by the same key is spoken of again.
#[test]
fn a_turn_is_said_again_later() {
    let (_keep, home) = with_book_for(23);
    let mut door = opened(&home);
    door.press("t");
    door.wait("the next turn in hand", a_turn_in_hand);
    // It is days off: nothing has been said of it.
    door.press("o");
    door.wait("why not", |s| s.contains("no nudge till"));
    // In which tub the meat lies hangs on the hour at which the plan is made.
    let plan: serde_json::Value = serde_json::from_str(&shell(&home, &["plan", "--json"])).expect("a plan");
    let turns = plan["tasks"].as_array().expect("tasks").iter().filter(|t| t["kind"] == "turn");
    let first = turns.min_by_key(|t| t["start"].as_str()).expect("a turn");
    let turn = first["id"].as_str().expect("an id").to_owned();
    shell(&home, &["remind", "--snooze", &turn, "--minutes", "10080"]);
    assert!(shell(&home, &["history"]).contains("nudges put off until"));
    // A week is longer than the turn can wait.
    door.wait("it beside the task, with the caution", |s| s.contains("too late: put off until") && a_turn_in_hand(s));
    door.press("o");
    door.wait("it taken back", |s| s.contains(&format!("spoken of again: {turn}")) && !s.contains("put off until"));
    door.press("q");
    assert_eq!(door.end().exit_code(), 0);
    shell(&home, &["book", "check"]);
}

/// A task is slid by a column, the rest is planned around it, and what comes of it is looked at and taken on.
#[test]
fn a_task_is_moved_and_the_rest_is_planned_around_it() {
    let (_keep, home) = with_book();
    let mut door = opened(&home);
    door.press("t");
    door.wait("the next turn in hand", a_turn_in_hand);
    door.press("M");
    door.wait("what moving it means", |s| s.contains("move to"));
    door.press("\u{1b}[C");
    door.wait("where it would be", |s| s.contains("its limits") || s.contains("others would have to move"));
    door.press("\r");
    door.wait("the change told", |s| s.contains("Planned as asked: 1 job moves"));
    door.press("C");
    door.wait("old and new side by side", |s| s.contains("old plan") && s.contains("new plan"));
    door.press("a");
    door.wait("the new plan on record", |s| s.contains("the plan is on record"));
    door.press("q");
    assert_eq!(door.end().exit_code(), 0);
    let history = shell(&home, &["history"]);
    assert_eq!(history.matches("plan taken on").count(), 2, "{history}");
    shell(&home, &["book", "check"]);
}

/// The power goes: right after an act was called done, and with keys still on their way. The book is whole each time, what
/// was called done is on record, and the next opening goes on from there.
#[test]
fn killed_with_a_book_open_it_loses_nothing_it_called_done() {
    let (_keep, home) = with_book();
    for round in 0..4 {
        let mut door = opened(&home);
        let log = |door: &mut Door, words: &str| {
            door.press("r");
            door.wait("the line to write in", |s| s.contains("Write down"));
            // Whatever stands there already gives way.
            door.press(&format!("\u{15}{words}"));
            door.wait("the words and their meaning", |s| s.contains(words) && s.contains("= note"));
            door.press("\r");
        };
        log(&mut door, &format!("note shank: kept {round}"));
        door.wait("the note written down", |s| s.contains("written down"));
        if round % 2 == 1 {
            // And something more, which it has no time to call done.
            door.press(&format!("r\u{15}note shank: perhaps {round}\rt t t "));
        }
        door.signal("KILL");
        assert!(door.end().signal().is_some());
        shell(&home, &["book", "check"]);
        let history = shell(&home, &["history"]);
        for told in 0..=round {
            assert!(history.contains(&format!("kept {told}")), "{told} is lost after round {round}:\n{history}");
        }
    }
    let mut door = opened(&home);
    door.press("9");
    door.wait("the record on the screen", |s| s.contains("kept 0") && s.contains("kept 3"));
    door.press("q");
    assert_eq!(door.end().exit_code(), 0);
}

/// Asked about days away: the answer comes with what it was asked, and nothing is put on record by asking.
#[test]
fn a_weekend_away_is_asked_about() {
    let (_keep, home) = with_book();
    let before = shell(&home, &["history"]);
    let mut door = opened(&home);
    door.press("i");
    door.wait("what can be asked", |s| s.contains("What if") && s.contains("away [WHO]"));
    let from = turnday::clock::now() + TimeDelta::days(12);
    let to = from + TimeDelta::days(2);
    let asked = format!("away {} to {}", from.format("%Y-%m-%d 12:00"), to.format("%Y-%m-%d 18:00"));
    door.press(&asked);
    door.wait("the question as understood", |s| s.contains("= Can everybody be away from"));
    door.press("\r");
    door.wait("yes or no", |s| s.contains("Yes") || s.contains("No."));
    door.press("\u{1b}");
    door.wait("the timeline again", |s| !s.contains("What if"));
    door.press("q");
    assert_eq!(door.end().exit_code(), 0);
    assert_eq!(shell(&home, &["history"]), before);
}

/// Trouble is told in words; the house's table answers before anything is put on record, and then both are.
#[test]
fn trouble_is_told_and_put_on_record() {
    let (_keep, home) = with_book();
    let mut door = opened(&home);
    door.press("!");
    door.wait("the kinds of trouble", |s| s.contains("missed-turn"));
    door.press("\u{15}missed turn shank 6 d");
    door.wait("the ruling", |s| s.contains("Turn it now and stir") && s.contains("24 h more in the brine"));
    door.press("\r");
    door.wait("it on record", |s| s.contains("written down"));
    door.press("q");
    assert_eq!(door.end().exit_code(), 0);
    let history = shell(&home, &["history"]);
    assert!(history.contains("missed-turn") || history.contains("missed turn"), "{history}");
    shell(&home, &["book", "check"]);
}

/// A kitchen file is opened, looked at, and a book is begun of it with the plan on the screen.
#[test]
fn a_book_is_begun_of_an_open_file() {
    let (_keep, home, file) = with_file(40);
    let env = [("HOME", home.as_str()), ("TZ", "Europe/London")];
    let mut door = Door::open(&["open", &file], 110, 34, &env);
    door.wait("a plan", |s| s.contains("shank") && s.contains("Next"));
    door.press("S");
    door.wait("the book", |s| s.contains("a book is begun in"));
    door.press("rnote shank: begun\r");
    door.wait("an act on record", |s| s.contains("written down"));
    door.press("q");
    assert_eq!(door.end().exit_code(), 0);
    let history = shell(&home, &["history"]);
    assert!(history.contains("the plan the book began with") && history.contains("begun"), "{history}");
    shell(&home, &["book", "check"]);
}
