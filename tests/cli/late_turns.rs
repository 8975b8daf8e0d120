//! Turns on record that came too late head every page, with the command that records it, until it is told. The table's marks (a day
//! more from 5 days on, two from 7) are common practice, no source.

use super::support::Bench;

/// A book whose box went in and was turned so many days ago, each in turn; a turn left out is `None`.
fn turned(put_in: u32, turns: &[u32]) -> Bench {
    let b = Bench::new();
    b.kitchen("small.json");
    begun(&b, put_in, turns);
    b
}

/// The same with a kitchen that is there.
fn begun(b: &Bench, put_in: u32, turns: &[u32]) {
    b.run(&["start", "kitchen.json", "--steps", "60", "--by", "R"]).ends(0);
    let log = |what: &str, days: u32| {
        let at = format!("{days} d ago");
        b.run(&["log", what, "--at", &at, "--really"]).ends(0);
    };
    log("put in BOX", put_in);
    for (k, days) in turns.iter().enumerate() {
        log(&format!("turned BOX {}", k + 1), *days);
    }
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
        for view in [&["today", "--json"][..], &["turns", "--json"], &["show", "tubs", "--json"]] {
            assert_eq!(b.run(view).json()["alarms"], data["alarms"], "{view:?}");
        }
        assert_eq!(b.run(&["show", "record", "--json"]).json()["alarms"], serde_json::json!([]), "no page to work by");
        assert!(!data["notes"].to_string().contains("stays inside the limits"), "{data}");
        assert_eq!(b.heads(&["plan", "-o", "other.json"]), first);
        let limits = b.limits();
        assert!(limits.len() == 1 && limits[0].contains(says) && limits[0].contains(&tell), "{limits:?}");
        let inside = |b: &Bench| b.run(&["plan"]).out.contains("stays inside the limits");
        let cautions = b.run(&["plan"]).out;
        assert!(!inside(&b) && cautions.contains("A plan cannot see, smell or probe your meat"), "{cautions}");
        // The command as it is printed puts it on record.
        let words: Vec<&str> = tell.trim_matches('`').split(' ').skip(1).collect();
        let told = b.run(&words).ends(0).out;
        assert!(told.contains(&format!("{more} more in the brine")) && told.contains("Corrective"), "{told}");
        assert!(!b.run(&["plan"]).out.contains("missed-turn") && b.limits().is_empty());
        assert!(b.run(&["plan"]).out.contains("before its days are up") != inside(&b));
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

/// Following the advice on a late turn is no word on meat that was read too warm, nor on a core: those alarms stay until trouble of
/// their own kind is told. 5 °C and 70 °C are the house's limits (common practice, no source).
#[test]
fn a_late_turn_that_is_told_leaves_the_alarms_of_warmth_and_of_the_core() {
    let b = turned(9, &[3]);
    b.run(&["log", "brine BOX 9.5 C", "--really"]).ends(0);
    let warm = |b: &Bench| b.run(&["today"]).out.contains("The brine of BOX was 9.5");
    assert!(warm(&b) && b.run(&["today"]).out.contains("missed-turn"), "{}", b.run(&["today"]).out);
    b.run(&["trouble", "missed-turn", "--tub", "BOX", "--for", "6d", "--log"]).ends(0);
    assert!(warm(&b) && !b.run(&["today"]).out.contains("missed-turn"), "{}", b.run(&["today"]).out);
    // Of one of the two that lie in it is not enough, and neither is a milder reading or none.
    let tell = |args: &[&str]| b.run(&[&["trouble", "warm", "--log"], args].concat());
    tell(&["--joint", "J1", "--reading", "9.5 C", "--for", "1 h"]);
    tell(&["--tub", "BOX", "--reading", "5.5 C", "--for", "1 h"]);
    assert!(warm(&b), "{}", b.run(&["today"]).out);
    tell(&["--tub", "BOX", "--reading", "9.5 C", "--for", "1 h"]);
    assert!(!warm(&b), "{}", b.run(&["today"]).out);

    let b = turned(24, &[21, 18]);
    b.run(&["log", "probe J1 62", "--really"]).ends(0);
    b.run(&["log", "done simmer J1", "--really"]).ends(0);
    let raw = |b: &Bench| b.run(&["today"]).out.contains("J1: 62.0 °C");
    assert!(raw(&b), "{}", b.run(&["today"]).out);
    b.run(&["trouble", "missed-turn", "--joint", "J1", "--for", "2d", "--log"]).ends(0);
    assert!(raw(&b), "{}", b.run(&["today"]).out);
    b.run(&["trouble", "core-not-up", "--joint", "J1", "--reading", "62 C", "--log"]);
    assert!(!raw(&b), "{}", b.run(&["today"]).out);
}

/// Who opens the page of one joint is told what is wrong with all that lie in its tub.
#[test]
fn the_pages_of_all_the_joints_of_a_tub_tell_what_is_wrong_in_it() {
    let b = turned(9, &[3]);
    b.run(&["log", "brine BOX 9.5 C", "--really"]).ends(0);
    for joint in ["J1", "J2"] {
        let page = b.run(&["show", "joint", "--of", joint]).out;
        assert!(page.contains("The brine of BOX was 9.5 °C"), "{joint}: {page}");
    }
    b.run(&["trouble", "warm", "--tub", "BOX", "--reading", "9.5 C", "--for", "1 h", "--log"]);
    let late = |joint: &str| b.run(&["show", "joint", "--of", joint]).out.contains("missed-turn");
    assert!(late("J1") && late("J2"), "{}", b.run(&["show", "joint", "--of", "J2"]).out);
    // Told of one of them, it is the other's alone.
    b.run(&["trouble", "missed-turn", "--joint", "J1", "--for", "6d", "--log"]).ends(0);
    assert!(!late("J1") && late("J2"), "{}", b.run(&["show", "joint", "--of", "J1"]).out);
}

#[test]
fn the_late_turn_that_costs_the_most_days_comes_first() {
    // Six days without a turn, then eight.
    let b = turned(18, &[12, 4]);
    let out = b.run(&["today"]).out;
    let alarms: Vec<&str> = out.lines().filter(|l| l.contains("missed-turn")).collect();
    assert!(alarms.len() == 2 && alarms[0].contains("two days more") && alarms[1].contains("a day more"), "{alarms:?}");
}

/// A screen of 80 columns shows two rows of it: the command has to end there, and how many alarms there are has to stand before.
#[test]
fn two_rows_of_a_small_screen_hold_the_count_and_the_command() {
    let b = turned(18, &[12, 4]);
    let page = |b: &Bench| b.run(&["show", "turns"]).out.split_whitespace().collect::<Vec<_>>().join(" ");
    let said = page(&b);
    let command = "`turnday trouble missed-turn --tub BOX --for 191h --log`";
    // The name of a tub and its quotes may take twenty columns more than BOX does.
    let end = said.find(command).map(|at| said[..at].chars().count() + command.len());
    assert!(said.contains("First of 2: BOX: ") && end.is_some_and(|e| e <= 2 * 78 - 20), "{end:?} {said}");
    let b = turned(14, &[11, 3]);
    let told = b.run(&["trouble", "missed-turn", "--tub", "BOX", "--for", "5d", "--log"]).ends(0).out;
    let line = told.split("line ").nth(1).unwrap().split(['.', ';']).next().unwrap().to_owned();
    let first = b.heads(&["today"]);
    assert!(first.find("--log`").is_some_and(|at| at < 2 * 78) && first.contains(&format!("undo {line}")), "{first}");
}

#[test]
fn before_the_first_turn_the_days_are_told_since_the_put_in() {
    let b = turned(9, &[3]);
    let first = b.heads(&["plan"]);
    assert!(first.contains("since it was put in") && !first.contains("since the last turn"), "{first}");
    assert!(b.limits()[0].contains("since it was put in"), "{:?}", b.limits());
    let first = turned(12, &[9, 3]).heads(&["plan"]);
    assert!(first.contains("since the last turn") && !first.contains("since it was put in"), "{first}");
}

/// The salt sum goes by the same stay as the joint's page: the put-in on record, the weight on the scale and the days that were ruled.
/// The plan's own days were 100 % of what it asked for, whatever had come since.
#[test]
fn the_salt_sum_goes_by_the_put_in_and_the_days_on_record() {
    let b = turned(9, &[6]);
    assert!(b.heads(&["cure-check"]).contains("missed-turn") && b.heads(&["cure-check"]) == b.heads(&["plan"]));
    let alarms = b.run(&["cure-check", "--json"]).ends(0).json()["alarms"].clone();
    assert!(alarms[0].is_string() && alarms == b.run(&["plan", "--json"]).json()["alarms"], "data carry them too");
    let planned = b.run(&["plan", "--json"]).json()["joints"][1]["cure_days"].as_f64().unwrap();
    b.run(&["trouble", "missed-turn", "--tub", "BOX", "--for", "6 d", "--log"]).ends(0);
    b.run(&["trouble", "heavier", "J2", "3.4", "kg", "--log"]).ends(1);
    let page = b.run(&["show", "joint", "--of", "J2", "--json"]).ends(0).json()["stay"].clone();
    let sum = b.run(&["cure-check", "--joint", "J2", "--json"]).ends(0).json();
    let sum = sum["joints"][0].clone();
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
    let states: Vec<&str> = (0..3).map(|k| data["tubs"][0]["turns"][k]["state"].as_str().unwrap()).collect();
    assert_eq!(states, ["done", "skipped", "done"]);
    let at =
        |k: usize| chrono::DateTime::parse_from_rfc3339(data["tubs"][0]["turns"][k]["at"].as_str().unwrap()).unwrap();
    assert_eq!((at(2) - at(0)).num_hours().clamp(119, 120), (at(2) - at(0)).num_hours(), "five days apart: {data}");
}

/// What was missed is not made up by turning sooner: after days without a turn the rest of the stay is parted as ever, a day to five
/// between turns (common practice, no source) and no more of them than one in three days, nothing is turned just before it is lifted, and the gap is told once.
#[test]
fn turns_that_were_missed_are_not_made_up() {
    for gap in [5, 6, 8] {
        // Pork that came when it was put in: else nobody has time for it before its day.
        let b = Bench::new();
        b.kitchen("small.json");
        let day = |n: i64| (turnday::clock::now() + chrono::TimeDelta::days(n)).format("%Y-%m-%d 18:00").to_string();
        let text = std::fs::read_to_string(b.path("kitchen.json")).unwrap();
        let text = text.replace("2026-12-04 18:00", &day(-4 - i64::from(gap))).replace("2026-12-24 18:00", &day(20));
        b.write("kitchen.json", text.replace("\"starts\": \"2026-12-03 18:00\", ", ""));
        begun(&b, gap + 3, &[gap]);
        let accept = b.run(&["replan", "--steps", "300", "--accept"]);
        let limits = accept.out.split("\nLimits\n").nth(1).unwrap_or_default();
        let told = limits.matches("a gap between turns may be").count();
        assert!(gap < 6 || told == 1, "{gap}: {}", accept.out);
        let turns = b.run(&["turns", "--json"]).ends(0).json();
        let at = |v: &serde_json::Value| chrono::DateTime::parse_from_rfc3339(v["at"].as_str().unwrap()).unwrap();
        let tub = turns["tubs"].as_array().unwrap().iter().find(|t| t["tub"] == "BOX").unwrap();
        let to_come: Vec<_> =
            tub["turns"].as_array().unwrap().iter().filter(|t| t["state"] != "done").map(at).collect();
        assert!(!to_come.is_empty(), "{gap}: {}{}", accept.out, accept.err);
        for pair in to_come.windows(2) {
            let hours = (pair[1] - pair[0]).num_hours();
            assert!((24..=5 * 24).contains(&hours), "{gap}: {hours} hours between turns: {tub}");
        }
        let lifts = b.run(&["plan", "--json"]).json();
        let lifts =
            lifts["tasks"].as_array().unwrap().iter().filter(|t| t["id"].as_str().unwrap().starts_with("lift "));
        let start = |t: &serde_json::Value| chrono::DateTime::parse_from_rfc3339(t["start"].as_str().unwrap()).unwrap();
        let last = lifts.map(start).max().unwrap();
        let hours = (last - *to_come.last().unwrap()).num_hours();
        assert!(hours >= 12, "{gap}: turned {hours} hours before the last lift");
        let days = (last.to_utc() - turnday::clock::now()).num_hours() as f64 / 24.0;
        assert!(to_come.len() as f64 <= (days + 3.0) / 3.0 + 0.5, "{gap}: {} turns in {days} days", to_come.len());
    }
}

/// A turn that was done but not ticked off, logged once the gap had been ruled on: the ruling is told, with what takes it back.
#[test]
fn a_turn_logged_after_the_ruling_tells_of_it() {
    let b = turned(9, &[6]);
    b.run(&["trouble", "missed-turn", "--tub", "BOX", "--for", "6d", "--log"]);
    let line = b.run(&["history", "--json"]).json().as_array().map_or(0, Vec::len);
    // One that leaves five days and more before it or after it takes nothing back.
    let said = b.run(&["log", "turned BOX 2", "--at", "10 h ago", "--really"]).ends(0).out;
    assert!(!said.contains("undo"), "{said}");
    b.run(&["undo"]).ends(0);
    let said = b.run(&["log", "turned BOX 2", "--at", "3 d ago", "--really"]).ends(0).out;
    assert!(said.contains("6.0 days went by without a turn") && said.contains("rules 1.0 days more"), "{said}");
    let tell = said.split('`').nth(1).unwrap().to_owned();
    assert_eq!(tell, format!("turnday undo {line}"));
    b.run(&tell.split(' ').skip(1).collect::<Vec<_>>()).ends(0);
    assert!(b.limits().is_empty() && !b.run(&["plan"]).out.contains("missed-turn"), "the gap was none");
}

/// Meat that has outgrown its tub lies in it all the same; how much brine it has then nobody knows, and no salt sum is told of it.
#[test]
fn of_meat_too_big_for_its_tub_no_salt_sum_is_told() {
    let b = turned(9, &[6, 3]);
    let sum = "until 80 % of the salt is in";
    assert!(b.run(&["plan"]).ends(0).out.contains(sum));
    // Told so, its old measures are no more.
    b.run(&["trouble", "heavier", "J2", "9", "kg", "--log"]);
    b.run(&["replan", "--steps", "100", "--accept"]);
    let told = b.run(&["plan"]).out;
    assert!(told.contains("too big by now for the tub they lie in") && !told.contains(sum), "{told}");
    let tubs = b.run(&["show", "tubs", "--json"]).ends(0).json();
    let full = tubs["tubs"].as_array().unwrap().iter().find(|t| t["tub"] == "BOX").unwrap();
    assert!(full["load"] == "BOX" && full["brine_litres"].is_null() && full["fill_cm"].is_null(), "{full}");
}
