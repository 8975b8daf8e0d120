//! `turnday calendar -o`: stable bytes, sequences, cancelled entries, and what two independent parsers read.

use super::python;
use serde_json::Value;
use std::path::Path;
use std::process::Command;

/// Runs the program in a folder with a kitchen in it.
pub fn turnday(folder: &Path, args: &[&str]) -> (i32, String, String) {
    let out = Command::new(env!("CARGO_BIN_EXE_turnday"))
        .args(args)
        .env_clear()
        .env("HOME", folder)
        .current_dir(folder)
        .stdin(std::process::Stdio::null())
        .output()
        .unwrap();
    let text = |b: Vec<u8>| String::from_utf8(b).unwrap();
    let (o, e) = (text(out.stdout), text(out.stderr));
    assert!(!e.contains("panicked"), "{e}");
    (out.status.code().unwrap_or(-1), o, e)
}

pub fn kitchen(folder: &Path) {
    let good = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/kitchen/good/small.json");
    std::fs::copy(good, folder.join("kitchen.json")).unwrap();
    let (code, ..) = turnday(folder, &["plan", "kitchen.json", "--steps", "60", "-o", "plan.json"]);
    assert_eq!(code, 0);
}

const ARGS: [&str; 4] = ["calendar", "kitchen.json", "--steps", "60"];

fn write(folder: &Path, more: &[&str]) -> (String, String) {
    let (code, out, err) = turnday(folder, &[&ARGS[..], more].concat());
    assert_eq!(code, 0, "{out}{err}");
    (out, std::fs::read_to_string(folder.join("cal.ics")).unwrap_or_default())
}

#[test]
fn one_plan_is_the_same_bytes_always() {
    let t = tempfile::tempdir().unwrap();
    kitchen(t.path());
    let (_, one) = write(t.path(), &["-o", "cal.ics"]);
    let (said, two) = write(t.path(), &["-o", "cal.ics"]);
    assert_eq!(one, two);
    assert!(said.contains(" 0 new, 0 changed, 0 cancelled"), "{said}");
    let (out, _) = write(t.path(), &[]);
    assert_eq!(out, one, "on standard output too");
    assert!(one.split("\r\n").all(|l| l.len() <= 75 && !l.contains('\n')));
    assert!(one.is_ascii() || one.contains('°'));
}

#[test]
fn what_changes_goes_up_and_what_is_gone_is_cancelled() {
    let t = tempfile::tempdir().unwrap();
    kitchen(t.path());
    write(t.path(), &["-o", "cal.ics", "--include", "plan"]);
    // One joint less.
    let text = std::fs::read_to_string(t.path().join("kitchen.json")).unwrap();
    let without: Value = serde_json::from_str::<Value>(&text).map_or_else(
        |_| panic!("the kitchen of the tests is plain JSON"),
        |mut k| {
            let joints = k["joints"].as_array_mut().unwrap();
            assert!(joints.len() >= 2);
            joints.pop();
            k
        },
    );
    std::fs::write(t.path().join("kitchen.json"), without.to_string()).unwrap();
    let (said, after) = write(t.path(), &["-o", "cal.ics", "--include", "plan"]);
    let count = |what: &str| after.matches(what).count();
    assert!(count("STATUS:CANCELLED") > 0, "{said}");
    for event in after.split("BEGIN:VEVENT").skip(1) {
        let cancelled = event.contains("STATUS:CANCELLED");
        assert!(!cancelled || (event.contains("SEQUENCE:1") && !event.contains("VALARM")), "{event}");
    }
    assert!(count("SEQUENCE:1") >= count("STATUS:CANCELLED"));
    // And back: no longer cancelled, one higher.
    std::fs::write(t.path().join("kitchen.json"), text).unwrap();
    let (_, back) = write(t.path(), &["-o", "cal.ics", "--include", "plan"]);
    let plan: Value = serde_json::from_str(&std::fs::read_to_string(t.path().join("plan.json")).unwrap()).unwrap();
    let number = plan["tasks"].as_array().unwrap().len();
    assert_eq!(back.matches("STATUS:CONFIRMED").count(), number, "all of the plan again");
    assert!(back.contains("SEQUENCE:2"), "{back}");
    let uids: Vec<&str> = back.lines().filter(|l| l.starts_with("UID:") && !l.starts_with("UID:a")).collect();
    let mut once = uids.clone();
    once.sort_unstable();
    once.dedup();
    assert_eq!(uids.len(), once.len(), "a UID is there twice");
}

#[test]
fn a_sequence_that_can_go_no_higher_stays_there() {
    let t = tempfile::tempdir().unwrap();
    kitchen(t.path());
    let (_, text) = write(t.path(), &["-o", "cal.ics"]);
    // Changed, and one more that is of no task and is to be cancelled.
    let high = text.replace("SEQUENCE:0", &format!("SEQUENCE:{}", u32::MAX)).replace("SUMMARY:", "SUMMARY:Old ");
    let high = high.replacen("UID:", "UID:old-", 1);
    std::fs::write(t.path().join("cal.ics"), high).unwrap();
    let (said, after) = write(t.path(), &["-o", "cal.ics"]);
    assert!(said.contains(" 1 cancelled"), "{said}");
    assert!(after.contains(&format!("SEQUENCE:{}", u32::MAX)) && after.contains("STATUS:CANCELLED"), "{after}");
}

#[test]
fn choices_of_what_to_include() {
    let t = tempfile::tempdir().unwrap();
    kitchen(t.path());
    let number = |more: &[&str]| write(t.path(), more).0.matches("BEGIN:VEVENT").count();
    let plan: Value = serde_json::from_str(&std::fs::read_to_string(t.path().join("plan.json")).unwrap()).unwrap();
    let tasks = plan["tasks"].as_array().unwrap();
    let hands = tasks.iter().filter(|t| t["hands_minutes"].as_i64() > Some(0)).count();
    assert_eq!(
        (number(&["--include", "plan"]), number(&[]), number(&["--include", "hands"])),
        (tasks.len(), hands, hands)
    );
    let kitchen: Value =
        serde_json::from_str(&std::fs::read_to_string(t.path().join("kitchen.json")).unwrap()).unwrap();
    let people: Vec<&str> = kitchen["people"].as_array().unwrap().iter().filter_map(|p| p["name"].as_str()).collect();
    let each: usize = people.iter().map(|p| number(&["--who", p])).sum();
    assert_eq!(each, hands, "everybody's together are all");
    assert!(write(t.path(), &["--todos"]).0.contains("BEGIN:VTODO"));
    let (code, _, err) = turnday(t.path(), &[&ARGS[..], &["--who", "Nobody"]].concat());
    assert!(code == 2 && err.contains("Nobody") && err.contains(people[0]), "{err}");
    // Something else in the file's place is not written over.
    std::fs::write(t.path().join("cal.ics"), "my letters").unwrap();
    let (code, _, err) = turnday(t.path(), &[&ARGS[..], &["-o", "cal.ics"]].concat());
    assert!(code == 2 && err.contains("not written over"), "{err}");
    assert_eq!(std::fs::read_to_string(t.path().join("cal.ics")).unwrap(), "my letters");
}

/// What `icalendar` and `vobject` (PyPI) each read, as JSON in one form.
const READ: &str = r#"
import sys, json, datetime
text = sys.stdin.read()
which = sys.argv[1]
out = []
def z(d): return d.astimezone(datetime.timezone.utc).strftime('%Y-%m-%dT%H:%M:%SZ')
if which == 'icalendar':
    import icalendar
    cal = icalendar.Calendar.from_ical(text)
    assert cal['VERSION'] == '2.0'
    for e in cal.walk('VEVENT'):
        assert not e.errors, e.errors
        alarms = []
        for a in e.walk('VALARM'):
            assert not a.errors and a['ACTION'] == 'DISPLAY' and a['UID'] and a['DESCRIPTION']
            alarms.append(int(a['TRIGGER'].dt.total_seconds()))
        out.append(dict(uid=str(e['UID']), start=z(e['DTSTART'].dt), end=z(e['DTEND'].dt), summary=str(e['SUMMARY']),
            description=str(e['DESCRIPTION']), location=str(e['LOCATION']), sequence=int(e['SEQUENCE']), status=str(e['STATUS']), alarms=alarms))
else:
    import vobject
    cal = vobject.readOne(text)
    cal.validate(raiseException=True)
    for e in cal.vevent_list:
        alarms = [int(a.trigger.value.total_seconds()) for a in getattr(e, 'valarm_list', [])]
        out.append(dict(uid=e.uid.value, start=z(e.dtstart.value), end=z(e.dtend.value), summary=e.summary.value,
            description=e.description.value, location=e.location.value, sequence=int(e.sequence.value), status=e.status.value, alarms=alarms))
json.dump(out, sys.stdout)
"#;

#[test]
fn two_independent_parsers_read_what_the_plan_says() {
    let Some(py) = python::with(&["icalendar", "vobject"], "calendar files read by two parsers") else { return };
    let t = tempfile::tempdir().unwrap();
    kitchen(t.path());
    let (_, text) = write(t.path(), &["--include", "plan", "-o", "cal.ics"]);
    let plan: Value = serde_json::from_str(&std::fs::read_to_string(t.path().join("plan.json")).unwrap()).unwrap();
    let one: Value = serde_json::from_str(&python::run(&py, READ, &["icalendar"], &text)).unwrap();
    let two: Value = serde_json::from_str(&python::run(&py, READ, &["vobject"], &text)).unwrap();
    assert_eq!(one, two, "the two parsers differ");
    let (read, tasks) = (one.as_array().unwrap(), plan["tasks"].as_array().unwrap());
    assert_eq!(read.len(), tasks.len());
    let utc = |v: &Value| {
        let t: chrono::DateTime<chrono::Utc> = v.as_str().unwrap().parse().unwrap();
        t.format("%Y-%m-%dT%H:%M:%SZ").to_string()
    };
    let mut alarms = 0;
    for task in tasks {
        let says = task["says"].as_str().unwrap();
        let e = read
            .iter()
            .find(|e| {
                e["description"].as_str().is_some_and(|d| d.starts_with(says)) && e["start"] == utc(&task["start"])
            })
            .unwrap_or_else(|| panic!("{says} is not there"));
        assert_eq!(e["end"], utc(&task["end"]));
        assert!(says.starts_with(e["summary"].as_str().unwrap()));
        assert!(!e["location"].as_str().unwrap().is_empty());
        let own: Vec<i64> = e["alarms"].as_array().unwrap().iter().map(|a| a.as_i64().unwrap()).collect();
        alarms += own.len();
        match task["kind"].as_str().unwrap() {
            "rest" => assert!(own.is_empty()),
            "turn" => assert_eq!(own, [0]),
            _ => assert!(own.iter().all(|a| (-40 * 3600..=0).contains(a)), "{own:?}"),
        }
    }
    assert!(alarms > tasks.len() / 2);
}
