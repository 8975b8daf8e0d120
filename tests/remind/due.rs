//! Tables: what is said when.

use super::fixture::{LONDON, at, move_to, plan, task};
use chrono::{DateTime, TimeDelta, Utc};
use turnday::kitchen::{Clock, Zone};
use turnday::plan::{Kind, Plan};
use turnday::remind::settings::Quiet;
use turnday::remind::{Due, Key, Record, Rung, Settings, Told, due};

fn says(d: &Due) -> Vec<String> {
    d.says().map(|(t, k)| format!("{t}: {k}")).collect()
}

/// Looks, and records what it said, as the loop does.
fn look(plan: &Plan, record: &mut Record, seen: &mut Option<DateTime<Utc>>, now: DateTime<Utc>, s: &Settings) -> Due {
    let d = due(plan, record, *seen, now, s);
    for (task, key) in d.says() {
        record.told.insert(task.to_owned(), Told { key, when: now });
        record.shown.insert(task.to_owned());
    }
    for w in &d.withdraw {
        record.shown.remove(&w.task);
        if let Some(key) = w.key {
            record.told.insert(w.task.clone(), Told { key, when: now });
        }
    }
    *seen = Some(now);
    d
}

/// Every moment at which something is said, following `next` from look to look.
fn told_over(plan: &Plan, from: &str, until: &str, s: &Settings) -> Vec<String> {
    let (mut record, mut seen, mut now) = (Record::default(), Some(at(from)), at(from));
    let mut out = Vec::new();
    while now < at(until) {
        let d = look(plan, &mut record, &mut seen, now, s);
        for (t, k) in d.says() {
            out.push(format!("{} {t} {:?}", now.format("%d %H:%M"), k.rung.unwrap()));
        }
        let Some(next) = d.next else { break };
        assert!(next > now, "it would look again at once");
        now = next;
    }
    out
}

#[test]
fn lead_times_by_kind_of_task() {
    let s = Settings::default();
    let on = |kind, start: &str, slack| plan(vec![task("x", kind, at(start), slack)]);
    let all = |kind, start, slack| told_over(&on(kind, start, slack), "2026-12-14T08:00", "2026-12-18T00:00", &s);
    assert_eq!(
        all(Kind::Turn, "2026-12-16T18:30", 230),
        ["16 18:30 x Moment", "16 19:15 x Overdue", "16 22:05 x LastCall", "17 22:05 x Days(1)"]
    );
    assert_eq!(
        all(Kind::Rinse, "2026-12-16T18:30", 0),
        ["15 19:00 x Evening", "16 17:30 x Hour", "16 18:30 x Moment", "16 19:15 x Overdue", "17 19:15 x Days(1)"]
    );
    // A cook that begins at seven: the hour before would be in the night and comes before it.
    assert_eq!(
        all(Kind::Simmer, "2026-12-16T07:00", 0),
        ["15 19:00 x Evening", "15 22:25 x Hour", "16 07:00 x Moment", "16 07:45 x Overdue", "17 07:45 x Days(1)"]
    );
    // Hot food is overdue after ten minutes and does not wait for the morning.
    assert_eq!(
        all(Kind::Chill, "2026-12-16T22:40", 0)[..2],
        ["16 22:40 x Moment".to_owned(), "16 22:50 x Overdue".to_owned()]
    );
    // Anything else in the quiet hours does, and then says what holds then.
    assert_eq!(all(Kind::Turn, "2026-12-16T22:40", 0)[..1], ["17 06:30 x Overdue".to_owned()]);
    assert!(all(Kind::Rest, "2026-12-16T12:00", 0).is_empty());
    // The week after an unanswered nudge is spoken of, and no longer.
    let long = told_over(&on(Kind::Turn, "2026-12-16T18:30", 0), "2026-12-14T08:00", "2027-02-01T00:00", &s);
    assert_eq!(long.last().unwrap(), "23 19:15 x Days(7)");
}

#[test]
fn leads_are_a_persons_own_choice() {
    let p = plan(vec![task("x", Kind::Turn, at("2026-12-16T18:30"), 0)]);
    let s = Settings::read(r#"{"leads": {"turn": ["hour-before"]}}"#).unwrap();
    assert_eq!(told_over(&p, "2026-12-14T08:00", "2026-12-20T00:00", &s), ["16 17:30 x Hour"]);
    let s = Settings { quiet: Some(Quiet { from: Clock::at(12, 0), to: Clock::at(20, 0) }), ..Settings::default() };
    assert_eq!(told_over(&p, "2026-12-14T08:00", "2026-12-17T00:00", &s), ["16 20:00 x Overdue"]);
}

#[test]
fn work_on_the_heels_of_other_work_has_no_lead_of_its_own() {
    let p = plan(vec![
        task("turn", Kind::Turn, at("2026-12-16T18:20"), 0),
        task("lift", Kind::Rinse, at("2026-12-16T18:30"), 0),
    ]);
    let all = told_over(&p, "2026-12-14T08:00", "2026-12-16T19:00", &Settings::default());
    assert_eq!(all, ["16 18:20 turn Moment", "16 18:30 lift Moment"]);
}

#[test]
fn after_a_sleep_one_summary() {
    let s = Settings::default();
    let p = plan(vec![
        task("a", Kind::Turn, at("2026-12-16T10:00"), 0),
        task("b", Kind::Turn, at("2026-12-16T12:00"), 0),
        task("c", Kind::Rinse, at("2026-12-16T18:00"), 0),
    ]);
    let mut record = Record::default();
    let mut seen = Some(at("2026-12-16T09:00"));
    let d = look(&p, &mut record, &mut seen, at("2026-12-16T17:30"), &s);
    assert!(d.nudges.is_empty());
    let sum = d.summary.unwrap();
    assert_eq!(sum.title, "While nobody looked: 3 jobs");
    assert_eq!(sum.body.len(), 3);
    assert!(sum.body[0].starts_with("overdue, 10:00: turn a"), "{:?}", sum.body);
    assert_eq!(look(&p, &mut record, &mut seen, at("2026-12-16T17:31"), &s).says().count(), 0, "said once");
    // One alone is said with all its words, and how long ago it was.
    let p = plan(vec![task("a", Kind::Turn, at("2026-12-16T10:00"), 600)]);
    let d = due(&p, &Record::default(), Some(at("2026-12-16T09:00")), at("2026-12-16T10:30"), &s);
    assert_eq!(d.nudges[0].title, "30 min ago: turn a (Rook & Wren <2>)");
    // The first look ever is a gap too; four at one moment are one popup.
    let many: Vec<_> = (0..4).map(|i| task(&format!("t{i}"), Kind::Turn, at("2026-12-16T10:00"), 0)).collect();
    let d = due(&plan(many), &Record::default(), Some(at("2026-12-16T09:59")), at("2026-12-16T10:00"), &s);
    assert_eq!(d.summary.unwrap().title, "4 jobs now");
    // What is got ready for tomorrow is one list.
    let p = plan(vec![
        task("a", Kind::Rinse, at("2026-12-16T10:00"), 0),
        task("b", Kind::Simmer, at("2026-12-16T13:00"), 0),
    ]);
    let d = due(&p, &Record::default(), Some(at("2026-12-15T18:00")), at("2026-12-15T19:00"), &s);
    assert_eq!(d.summary.unwrap().title, "Tomorrow: 2 jobs");
}

#[test]
fn a_nudge_for_a_task_that_moved_is_withdrawn_or_replaced() {
    let s = Settings::default();
    let mut p = plan(vec![task("a", Kind::Turn, at("2026-12-16T10:00"), 0)]);
    let (mut record, mut seen) = (Record::default(), Some(at("2026-12-16T09:59")));
    assert_eq!(says(&look(&p, &mut record, &mut seen, at("2026-12-16T10:00"), &s)), ["a: moment 2026-12-16T10:00:00Z"]);
    // Later: withdrawn, and said again at the new moment.
    move_to(&mut p.tasks[0], at("2026-12-16T15:00"));
    let d = look(&p, &mut record, &mut seen, at("2026-12-16T10:05"), &s);
    assert_eq!((d.withdraw.len(), d.says().count(), d.next), (1, 0, Some(at("2026-12-16T15:00"))));
    assert!(look(&p, &mut record, &mut seen, at("2026-12-16T10:06"), &s).withdraw.is_empty(), "once");
    // Back to where it was: what was taken back is said again.
    let away = p.clone();
    move_to(&mut p.tasks[0], at("2026-12-16T10:00"));
    assert_eq!(says(&look(&p, &mut record, &mut seen, at("2026-12-16T10:07"), &s)), ["a: moment 2026-12-16T10:00:00Z"]);
    // Earlier than now: replaced at once.
    p = away;
    move_to(&mut p.tasks[0], at("2026-12-16T09:30"));
    let d = look(&p, &mut record, &mut seen, at("2026-12-16T10:08"), &s);
    assert_eq!((says(&d), d.withdraw.len()), (vec!["a: moment 2026-12-16T09:30:00Z".to_owned()], 0));
    // Gone from the plan: withdrawn.
    p.tasks.clear();
    let d = look(&p, &mut record, &mut seen, at("2026-12-16T10:09"), &s);
    assert_eq!((d.withdraw.len(), d.next), (1, None));
    assert!(look(&p, &mut record, &mut seen, at("2026-12-16T10:10"), &s).withdraw.is_empty());
}

#[test]
fn done_early_is_not_spoken_of_and_takes_its_popup_away() {
    let s = Settings::default();
    let p = plan(vec![task("a", Kind::Rinse, at("2026-12-16T10:00"), 0)]);
    let (mut record, mut seen) = (Record::default(), Some(at("2026-12-15T18:00")));
    assert_eq!(look(&p, &mut record, &mut seen, at("2026-12-15T19:00"), &s).nudges.len(), 1);
    record.settled.insert("a".to_owned());
    let d = look(&p, &mut record, &mut seen, at("2026-12-15T19:30"), &s);
    assert_eq!((d.withdraw.len(), d.withdraw[0].key, d.next), (1, None, None));
    assert_eq!(look(&p, &mut record, &mut seen, at("2026-12-16T10:00"), &s), Due::default());
}

#[test]
fn a_snooze_holds_until_its_moment_and_is_void_when_the_line_moves() {
    let s = Settings::default();
    let mut p = plan(vec![task("a", Kind::Turn, at("2026-12-16T10:00"), 300)]);
    let (mut record, mut seen) = (Record::default(), Some(at("2026-12-16T09:00")));
    look(&p, &mut record, &mut seen, at("2026-12-16T10:00"), &s);
    record.snoozed.insert("a".to_owned(), at("2026-12-16T11:00"));
    let d = look(&p, &mut record, &mut seen, at("2026-12-16T10:45"), &s);
    assert_eq!((d.says().count(), d.next), (0, Some(at("2026-12-16T11:00"))), "overdue waits for the snooze");
    let d = look(&p, &mut record, &mut seen, at("2026-12-16T11:00"), &s);
    assert_eq!(says(&d), ["a: overdue 2026-12-16T10:00:00Z 2026-12-16T11:00:00Z"]);
    assert_eq!(look(&p, &mut record, &mut seen, at("2026-12-16T11:01"), &s).says().count(), 0);
    // Snoozed again, and the plan changes meanwhile: the new line is spoken of at its own moment.
    record.snoozed.insert("a".to_owned(), at("2026-12-16T13:00"));
    move_to(&mut p.tasks[0], at("2026-12-16T12:00"));
    assert_eq!(look(&p, &mut record, &mut seen, at("2026-12-16T11:30"), &s).withdraw.len(), 1);
    assert_eq!(look(&p, &mut record, &mut seen, at("2026-12-16T12:00"), &s).says().count(), 1);
}

#[test]
fn a_clock_set_back_is_not_a_reason_to_say_it_twice_or_never() {
    let s = Settings::default();
    let p = plan(vec![task("a", Kind::Turn, at("2026-12-16T10:00"), 0)]);
    let (mut record, mut seen) = (Record::default(), Some(at("2026-12-16T09:59")));
    look(&p, &mut record, &mut seen, at("2026-12-16T10:00"), &s);
    // By a little, as time servers do: not again.
    for back in [1, 5, 10] {
        let now = at("2026-12-16T10:00") - TimeDelta::minutes(back);
        assert_eq!(look(&p, &mut record, &mut seen, now, &s).says().count(), 0);
    }
    assert_eq!(look(&p, &mut record, &mut seen, at("2026-12-16T10:00"), &s).says().count(), 0);
    // It was said under a clock a day ahead; set right, it is said at its moment all the same, snooze or not.
    let (mut record, mut seen) = (Record::default(), Some(at("2026-12-15T09:59")));
    look(&p, &mut record, &mut seen, at("2026-12-16T10:00"), &s);
    record.snoozed.insert("a".to_owned(), at("2026-12-16T10:30"));
    let d = look(&p, &mut record, &mut seen, at("2026-12-15T10:01"), &s);
    assert_eq!((d.says().count(), d.next), (0, Some(at("2026-12-16T10:00"))));
    assert_eq!(look(&p, &mut record, &mut seen, at("2026-12-16T10:00"), &s).says().count(), 1);
}

#[test]
fn restart_between_sent_and_recorded_says_it_again_with_the_same_key() {
    let s = Settings::default();
    let p = plan(vec![task("a", Kind::Turn, at("2026-12-16T10:00"), 0)]);
    let first = due(&p, &Record::default(), None, at("2026-12-16T10:00"), &s);
    let again = due(&p, &Record::default(), None, at("2026-12-16T10:01"), &s);
    assert_eq!(says(&first), says(&again), "one key, so that its popup is replaced");
}

#[test]
fn a_traveller_is_left_to_sleep_and_told_both_times() {
    let s = Settings { here: Some(Zone(chrono_tz::Pacific::Auckland)), ..Settings::default() };
    let p = plan(vec![task("a", Kind::Turn, at("2026-12-16T12:00"), 600)]);
    // 12:00 in London is 01:00 in Auckland: told at 06:30 there, which is 17:30 in London.
    let all = told_over(&p, "2026-12-16T08:00", "2026-12-16T20:00", &s);
    assert_eq!(all, ["16 17:30 a Overdue"]);
    let d = due(&p, &Record::default(), None, at("2026-12-16T17:30"), &s);
    assert!(d.nudges[0].title.contains("12:00 (01:00 by your clock)"), "{}", d.nudges[0].title);
    assert!(d.nudges[0].body.iter().any(|l| l.contains("22:00 (11:00 by your clock)")), "{:?}", d.nudges[0].body);
}

#[test]
fn the_evening_before_is_an_evening_also_when_the_clocks_change() {
    // Europe/London goes forward on 28 March 2027 (IANA).
    let mut t = task("a", Kind::Simmer, at("2027-03-28T08:00"), 0);
    t.start = at("2027-03-28T08:00").with_timezone(&LONDON.0).fixed_offset();
    let all = told_over(&plan(vec![t]), "2027-03-26T08:00", "2027-03-28T09:00", &Settings::default());
    assert_eq!(all, ["27 19:00 a Evening", "28 07:00 a Hour", "28 08:00 a Moment", "28 08:45 a Overdue"]);
}

#[test]
fn each_person_has_their_own() {
    let mut other = task("b", Kind::Turn, at("2026-12-16T10:00"), 0);
    other.who = Some("Odo".to_owned());
    let mut p = plan(vec![task("a", Kind::Turn, at("2026-12-16T10:00"), 0), other]);
    let s = Settings { who: Some("Odo".to_owned()), ..Settings::default() };
    let (mut record, mut seen) = (Record::default(), Some(at("2026-12-16T09:59")));
    assert_eq!(says(&look(&p, &mut record, &mut seen, at("2026-12-16T10:00"), &s)), ["b: moment 2026-12-16T10:00:00Z"]);
    // Given to somebody else: the popup goes.
    p.tasks.iter_mut().for_each(|t| t.who = Some("Ines".to_owned()));
    let d = look(&p, &mut record, &mut seen, at("2026-12-16T10:01"), &s);
    assert_eq!((d.withdraw.len(), d.says().count()), (1, 0));
}

#[test]
fn keys_are_read_back_as_written() {
    let start = at("2026-12-16T10:00");
    for rung in [Rung::Evening, Rung::Hour, Rung::Moment, Rung::Overdue, Rung::LastCall, Rung::Days(3)] {
        for snoozed in [None, Some(at("2026-12-16T11:00"))] {
            let key = Key { rung: Some(rung), start, snoozed };
            assert_eq!(Key::parse(&key.to_string()), Some(key));
        }
    }
    let gone = Key { rung: None, start, snoozed: None };
    assert_eq!(Key::parse(&gone.to_string()), Some(gone));
    for bad in ["", "moment", "moment yesterday", "someday 2026-12-16T10:00:00Z", "days-x 2026-12-16T10:00:00Z"] {
        assert_eq!(Key::parse(bad), None, "{bad}");
    }
}

#[test]
fn a_nudge_says_what_how_long_why_and_what_if_not() {
    let mut after = task("lift", Kind::Rinse, at("2026-12-18T10:00"), 0);
    after.because[0].other = "turn".to_owned();
    let p = plan(vec![
        task("first", Kind::Submerge, at("2026-12-13T10:00"), 0),
        task("turn", Kind::Turn, at("2026-12-16T10:00"), 230),
        after,
    ]);
    let mut record = Record::default();
    record.settled.insert("first".to_owned());
    let d = due(&p, &record, Some(at("2026-12-16T09:59")), at("2026-12-16T10:00"), &Settings::default());
    assert_eq!(d.nudges[0].title, "Now: turn turn (Rook & Wren <2>)");
    let body = d.nudges[0].body.join("\n");
    for words in [
        "turn turn (Rook & Wren <2>): gently.",
        "Takes 10 min; Ines.",
        "Why: turns are no more than 4 days apart (quality).",
        "If it slips: it can wait until 13:50, after that the plan has to change; \"lift and rinse lift (Rook & Wren <2>)\" \
         waits for it.",
    ] {
        assert!(body.contains(words), "{words}\n{body}");
    }
}
