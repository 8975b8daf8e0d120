//! Turns on record that came too late head every page, with the command that records it, until it is told. The table's marks (a day
//! more from 5 days on, two from 7) are common practice, no source.

use super::support::Bench;

/// A book whose box went in and was turned so many days ago, each in turn; a turn left out is `None`.
fn turned(put_in: u32, turns: &[u32]) -> Bench {
    let b = Bench::new();
    b.kitchen("small.json");
    b.run(&["start", "kitchen.json", "--steps", "60", "--by", "R"]).ends(0);
    let log = |what: &str, days: u32| {
        let at = format!("{days} d ago");
        b.run(&["log", what, "--at", &at, "--really"]).ends(0);
    };
    log("put in BOX", put_in);
    for (k, days) in turns.iter().enumerate() {
        log(&format!("turned BOX {}", k + 1), *days);
    }
    b
}

impl Bench {
    fn heads(&self, args: &[&str]) -> String {
        let said = self.run(args);
        said.out.lines().next().unwrap_or_default().to_owned()
    }

    fn limits(&self) -> Vec<String> {
        let found = self.run(&["replan", "--json", "--steps", "60"]).json();
        let says = |d: &serde_json::Value| d["says"].as_str().unwrap().to_owned();
        found["deviations"].as_array().unwrap().iter().map(says).filter(|d| d.contains("missed-turn")).collect()
    }
}

#[test]
fn a_gap_of_five_days_is_told_until_it_is_recorded_and_again_when_that_is_undone() {
    // The brine takes ten minutes to turn: what is ticked off four days later was begun less than four days later.
    for (gap, says, more) in [(4, "", ""), (6, "a day more in the brine", "24 h"), (8, "two days more", "2.0 days")] {
        let b = turned(gap + 6, &[gap + 3, 3]);
        let tell = format!("`turnday trouble missed-turn --tub BOX --for {}h --log`", 24 * gap - 1);
        if says.is_empty() {
            assert!(b.limits().is_empty(), "{:?}", b.limits());
            assert!(!b.run(&["plan"]).out.contains("missed-turn"), "nothing is late after {gap} days");
            continue;
        }
        let first = b.heads(&["plan"]);
        assert!(first.contains(says) && first.contains(&tell) && first.starts_with("BOX: "), "{first}");
        assert!(gap < 7 || first.contains("pale patches"), "{first}");
        assert_eq!(b.heads(&["today"]), first, "one place says it for every page");
        let data = b.run(&["plan", "--json"]).json();
        assert_eq!(data["alarms"], serde_json::json!([first]));
        b.write("plan.json", data.to_string());
        assert!(b.run(&["show", "turns", "--plan", "plan.json"]).ends(0).out.len() > 100, "it is read back");
        assert_eq!(b.run(&["today", "--json"]).json()["alarms"], data["alarms"]);
        assert_eq!(b.heads(&["plan", "-o", "other.json"]), first);
        let limits = b.limits();
        assert!(limits.len() == 1 && limits[0].contains(says) && limits[0].contains(&tell), "{limits:?}");
        // The command as it is printed puts it on record.
        let words: Vec<&str> = tell.trim_matches('`').split(' ').skip(1).collect();
        let told = b.run(&words).ends(0).out;
        assert!(told.contains(&format!("{more} more in the brine")) && told.contains("Corrective"), "{told}");
        assert!(!b.run(&["plan"]).out.contains("missed-turn") && b.limits().is_empty());
        let line = told.split("line ").nth(1).unwrap().split(['.', ';']).next().unwrap().to_owned();
        b.run(&["undo", &line]).ends(0);
        assert_eq!(b.heads(&["plan"]), first);
    }
}

#[test]
fn told_as_less_than_the_record_shows_it_stays_open() {
    let b = turned(14, &[11, 3]);
    let told = b.run(&["trouble", "missed-turn", "--tub", "BOX", "--for", "5d", "--log"]).ends(0).out;
    let line = told.split("line ").nth(1).unwrap().split(['.', ';']).next().unwrap().to_owned();
    let first = b.heads(&["plan"]);
    let undo = format!("`turnday undo {line}`");
    assert!(first.contains(&undo) && first.contains("--for 191h"), "{first}");
    // Told of one joint it says nothing of the other in the same tub.
    b.run(&["undo", &line]).ends(0);
    b.run(&["trouble", "missed-turn", "--joint", "J1", "--for", "8d", "--log"]).ends(0);
    assert!(b.heads(&["plan"]).contains("missed-turn --joint J2 --for 191h"));
}

#[test]
fn a_turn_nobody_logged_is_no_turn_and_one_logged_later_ends_it() {
    // Turned three days after it went in, and nothing on record since.
    let b = turned(9, &[6]);
    let first = b.heads(&["plan"]);
    assert!(first.contains("6 days since the last turn") && first.contains("Turn it now"), "{first}");
    // A turn left out is none.
    b.run(&["log", "skipped turn BOX 2: ill", "--really"]);
    assert!(b.heads(&["plan"]).contains("6 days since the last turn"));
    let b = turned(9, &[6]);
    b.run(&["log", "turned BOX 2", "--at", "3 d ago", "--really"]).ends(0);
    assert!(!b.run(&["plan"]).out.contains("missed-turn"));
    // What is out of the brine gets no more days in it.
    let b = turned(14, &[11, 5]);
    assert!(b.heads(&["plan"]).contains("missed-turn"));
    let lift = |joint: &str| b.run(&["log", "lifted", joint, "--at", "1 h ago", "--really"]).ends(0);
    lift("J2");
    assert!(b.heads(&["turns"]).contains("missed-turn"), "J1 is still in");
    lift("J1");
    assert!(!b.run(&["plan"]).out.contains("missed-turn"));
}

/// A day more that was ruled is a day more for whoever asks whether the lift is too soon, before any new plan is taken on.
#[test]
fn the_days_that_were_ruled_are_in_the_joints_story() {
    let b = turned(14, &[11, 5]);
    let days = |b: &Bench| b.run(&["show", "joint", "--of", "J2", "--json"]).ends(0).json()["stay"]["days"].as_f64();
    let before = days(&b).unwrap();
    b.run(&["trouble", "missed-turn", "--tub", "BOX", "--for", "6 d", "--log"]).ends(0);
    assert!((days(&b).unwrap() - before - 1.0).abs() < 1e-9, "{:?} days, {before} before", days(&b));
}

/// The salt sum goes by the same stay as the joint's page: the put-in on record, the weight on the scale and the days that were ruled.
/// The plan's own days were 100 % of what it asked for, whatever had come since.
#[test]
fn the_salt_sum_goes_by_the_put_in_and_the_days_on_record() {
    let b = turned(9, &[6]);
    assert!(b.heads(&["cure-check"]).contains("missed-turn") && b.heads(&["cure-check"]) == b.heads(&["plan"]));
    let planned = b.run(&["plan", "--json"]).json()["joints"][1]["cure_days"].as_f64().unwrap();
    b.run(&["trouble", "missed-turn", "--tub", "BOX", "--for", "6 d", "--log"]).ends(0);
    b.run(&["trouble", "heavier", "J2", "3.4", "kg", "--log"]).ends(1);
    let page = b.run(&["show", "joint", "--of", "J2", "--json"]).ends(0).json()["stay"].clone();
    let sum = b.run(&["cure-check", "--joint", "J2", "--json"]).ends(0).json()[0].clone();
    let days = page["days"].as_f64().unwrap();
    assert!((sum["rule_days"].as_f64().unwrap() - days).abs() < 1e-9 && days > planned + 8.0, "{sum} {page}");
    let at = |what: &str| chrono::DateTime::parse_from_rfc3339(page[what].as_str().unwrap()).unwrap();
    let percent = (at("lift") - at("put_in")).num_minutes() as f64 / (days * 14.4);
    assert!((sum["standing"]["percent"].as_f64().unwrap() - percent).abs() < 1e-6, "{percent} % by the page: {sum}");
    let said = b.run(&["cure-check", "--joint", "J2"]).ends(0).out;
    let put_in = at("put_in").format("J2 (BOX): in %a %-d %b %H:%M,").to_string();
    assert!(said.contains(&put_in) && said.contains("24 h of them for what happened"), "{put_in}\n{said}");
}

/// The record of a turn is told where it was, the gap since the last one that was, and what was never ticked off.
#[test]
fn turns_are_told_as_the_record_has_them() {
    let b = turned(9, &[6]);
    b.run(&["log", "skipped turn BOX 2: ill", "--really"]);
    b.run(&["log", "turned BOX 3", "--at", "1 d ago", "--really"]).ends(0);
    let said = b.run(&["turns"]).ends(0).out;
    let rows: Vec<&str> = said.lines().filter(|l| l.contains("  turn")).collect();
    assert!(rows[0].contains("3.0 days since the last") && rows[0].ends_with(", done"), "{said}");
    assert!(!rows[1].contains("since the last") && rows[1].ends_with(", left out"), "{said}");
    assert!(rows[2].contains("5.0 days since the last") && rows[2].ends_with(", done"), "{said}");
    assert!(said.lines().any(|l| l.ends_with("  in, done")), "{said}");
    let data = b.run(&["turns", "--json"]).ends(0).json();
    let states: Vec<&str> = (0..3).map(|k| data[0]["turns"][k]["state"].as_str().unwrap()).collect();
    assert_eq!(states, ["done", "skipped", "done"]);
    let at = |k: usize| chrono::DateTime::parse_from_rfc3339(data[0]["turns"][k]["at"].as_str().unwrap()).unwrap();
    assert_eq!((at(2) - at(0)).num_hours().clamp(119, 120), (at(2) - at(0)).num_hours(), "five days apart: {data}");
}
